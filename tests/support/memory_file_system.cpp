#include "support/memory_file_system.hpp"

#include <fcntl.h>

#include <algorithm>
#include <cerrno>

namespace frostcal::test {

using textfile::FileKind;
using textfile::FileStatus;

namespace {

std::string folder_of(const std::string& path) {
  const std::size_t slash = path.rfind('/');
  return slash == 0 ? "/" : path.substr(0, slash);
}

std::string last_name(const std::string& path) {
  return path.substr(path.rfind('/') + 1);
}

}  // namespace

MemoryFileSystem::MemoryFileSystem() {
  entries_["/"] = new_node(FileKind::folder, 0755);
  durable_entries_ = entries_;
}

int MemoryFileSystem::new_node(FileKind kind, unsigned mode) {
  nodes_.push_back({kind, "", "", "", mode});
  return static_cast<int>(nodes_.size()) - 1;
}

void MemoryFileSystem::put_folder(const std::string& path) {
  if (entries_.count(path) != 0) return;
  put_folder(folder_of(path));
  entries_[path] = durable_entries_[path] = new_node(FileKind::folder, 0755);
}

void MemoryFileSystem::put(const std::string& path, const std::string& bytes, unsigned mode) {
  put_folder(folder_of(path));
  const int node = new_node(FileKind::file, mode);
  nodes_[node].bytes = nodes_[node].durable_bytes = bytes;
  entries_[path] = durable_entries_[path] = node;
}

void MemoryFileSystem::put_link(const std::string& path, const std::string& target) {
  put_folder(folder_of(path));
  const int node = new_node(FileKind::link, 0777);
  nodes_[node].target = target;
  entries_[path] = durable_entries_[path] = node;
}

std::string MemoryFileSystem::contents(const std::string& path) const {
  const auto found = entries_.find(path);
  return found == entries_.end() ? "(missing)" : nodes_[found->second].bytes;
}

unsigned MemoryFileSystem::mode(const std::string& path) const {
  return nodes_[entries_.at(path)].mode;
}

std::vector<std::string> MemoryFileSystem::paths() const {
  std::vector<std::string> all;
  for (const auto& [path, node] : entries_) {
    if (nodes_[node].kind == FileKind::file) all.push_back(path);
  }
  return all;
}

void MemoryFileSystem::fail(int nth, Fault fault, int error, bool for_good) {
  countdown_ = nth;
  fault_ = fault;
  error_ = error;
  for_good_ = for_good;
  reached_ = false;
}

void MemoryFileSystem::take_lock_elsewhere(const std::string& path) {
  if (entries_.count(path) == 0) put(path, "77\n");
  locks_[entries_.at(path)] = -1;
}

/// Records the call; 0, or the error that the test wants. Calls that POSIX never lets a signal interrupt are
/// not counted when the wanted error is EINTR, and only writes are counted for short writes.
int MemoryFileSystem::begin(const std::string& call, const std::string& path, bool can_be_interrupted) {
  calls.push_back(call + ' ' + last_name(path));
  if (fault_ == Fault::error && error_ == EINTR && !can_be_interrupted) return 0;
  if (fault_ == Fault::short_write && call != "write") return 0;
  // A cut at a close is the same as one at the next call, and destructors close.
  if (fault_ == Fault::power_cut && call == "close") return 0;
  if (reached_ && for_good_) return fault_ == Fault::error ? -error_ : 0;
  if (countdown_ == 0 || --countdown_ > 0) return 0;
  reached_ = true;
  if (fault_ == Fault::power_cut) throw PowerCut();
  if (fault_ == Fault::error) return -error_;
  halve_next_ = true;
  return 0;
}

bool MemoryFileSystem::writable(const std::string& path) const {
  return read_only_.count(folder_of(path)) == 0;
}

std::size_t MemoryFileSystem::used() const {
  std::size_t total = 0;
  for (const auto& [path, node] : entries_) total += nodes_[node].bytes.size();
  return total;
}

int MemoryFileSystem::open(const std::string& path, int flags, unsigned mode) {
  if (const int error = begin("open", path, true)) return error;
  std::string resolved = path;
  auto found = entries_.find(path);
  if (found != entries_.end() && nodes_[found->second].kind == FileKind::link) {
    if ((flags & O_NOFOLLOW) != 0) return -ELOOP;
    resolved = nodes_[found->second].target;
    found = entries_.find(resolved);
  }
  const bool writes = (flags & (O_WRONLY | O_RDWR)) != 0;
  if (found != entries_.end() && (flags & O_EXCL) != 0) return -EEXIST;
  if (found != entries_.end() && nodes_[found->second].kind == FileKind::folder && writes) return -EISDIR;
  if (found == entries_.end()) {
    if ((flags & O_CREAT) == 0) return -ENOENT;
    if (entries_.count(folder_of(resolved)) == 0) return -ENOENT;
    if (!writable(resolved)) return -EACCES;
    change_entries(folder_of(resolved), {{resolved, new_node(FileKind::file, mode & ~022U)}});
    found = entries_.find(resolved);
  }
  open_[next_file_] = {found->second, resolved, (flags & O_APPEND) != 0, 0};
  return next_file_++;
}

int MemoryFileSystem::close(int file) {
  const int error = begin("close", open_.at(file).path, true);
  const int node = open_.at(file).node;
  if (const auto lock = locks_.find(node); lock != locks_.end() && lock->second == file) locks_.erase(lock);
  open_.erase(file);  // closed even when it reports an error
  return error;
}

long MemoryFileSystem::read(int file, char* buffer, std::size_t size, std::uint64_t offset) {
  if (const int error = begin("read", open_.at(file).path, true)) return error;
  const Node& node = nodes_[open_.at(file).node];
  if (node.kind == FileKind::folder) return -EISDIR;
  if (offset >= node.bytes.size()) return 0;
  return static_cast<long>(node.bytes.copy(buffer, size, offset));
}

long MemoryFileSystem::write(int file, const char* bytes, std::size_t size) {
  Open& open = open_.at(file);
  if (const int error = begin("write", open.path, true)) return error;
  if (halve_next_) {
    halve_next_ = false;
    size = std::max<std::size_t>(1, size / 2);
  }
  const std::size_t room = capacity_ - std::min(capacity_, used());
  if (room == 0) return -ENOSPC;
  size = std::min(size, room);
  Node& node = nodes_[open.node];
  const std::uint64_t at = open.append ? node.bytes.size() : open.position;
  if (node.bytes.size() < at + size) node.bytes.resize(at + size);
  node.bytes.replace(at, size, bytes, size);
  open.position = at + size;
  Change change;
  change.node = open.node;
  change.is_write = true;
  change.offset = at;
  change.bytes.assign(bytes, size);
  pending_.push_back(change);
  return static_cast<long>(size);
}

int MemoryFileSystem::truncate(int file, std::uint64_t size) {
  if (const int error = begin("truncate", open_.at(file).path, true)) return error;
  const int node = open_.at(file).node;
  nodes_[node].bytes.resize(size);
  Change change;
  change.node = node;
  change.size = size;
  pending_.push_back(change);
  return 0;
}

int MemoryFileSystem::sync(int file) {
  const Open open = open_.at(file);
  if (const int error = begin("sync", open.path, true)) return error;
  if (nodes_[open.node].kind == FileKind::folder) {
    make_durable([&](const Change& change) { return change.folder == open.path; });
  } else {
    make_durable([&](const Change& change) { return change.node == open.node; });
  }
  return 0;
}

int MemoryFileSystem::sync_contents(int file) {
  const Open open = open_.at(file);
  if (const int error = begin("sync_contents", open.path, true)) return error;
  make_durable([&](const Change& change) { return change.node == open.node; });
  return 0;
}

int MemoryFileSystem::change_mode(int file, unsigned mode) {
  if (const int error = begin("change_mode", open_.at(file).path, true)) return error;
  nodes_[open_.at(file).node].mode = mode;
  return 0;
}

FileStatus MemoryFileSystem::status_of(int node) const {
  return {nodes_[node].kind, nodes_[node].bytes.size(), nodes_[node].mode};
}

int MemoryFileSystem::status(int file, FileStatus& status) {
  if (const int error = begin("status", open_.at(file).path)) return error;
  status = status_of(open_.at(file).node);
  return 0;
}

int MemoryFileSystem::link_status(const std::string& path, FileStatus& status) {
  if (const int error = begin("link_status", path)) return error;
  const auto found = entries_.find(path);
  if (found == entries_.end()) return -ENOENT;
  status = status_of(found->second);
  return 0;
}

int MemoryFileSystem::real_path(const std::string& path, std::string& resolved) {
  if (const int error = begin("real_path", path)) return error;
  std::string at;
  std::size_t start = 1;
  for (int links = 0; start <= path.size() && path.size() > 1;) {
    const std::size_t end = std::min(path.find('/', start), path.size());
    at += '/' + path.substr(start, end - start);
    start = end + 1;
    auto found = entries_.find(at);
    while (found != entries_.end() && nodes_[found->second].kind == FileKind::link) {
      if (++links > 40) return -ELOOP;
      at = nodes_[found->second].target;
      found = entries_.find(at);
    }
    if (found == entries_.end()) return -ENOENT;
  }
  resolved = at.empty() ? "/" : at;
  return 0;
}

int MemoryFileSystem::list(const std::string& folder, std::vector<std::string>& names) {
  if (const int error = begin("list", folder)) return error;
  if (entries_.count(folder) == 0) return -ENOENT;
  names.clear();
  for (const auto& [path, node] : entries_) {
    if (path != "/" && folder_of(path) == folder) names.push_back(last_name(path));
  }
  return 0;
}

int MemoryFileSystem::rename(const std::string& from, const std::string& to) {
  if (const int error = begin("rename", to)) return error;
  const auto found = entries_.find(from);
  if (found == entries_.end()) return -ENOENT;
  if (!writable(to)) return -EACCES;
  change_entries(folder_of(to), {{to, found->second}, {from, -1}});
  return 0;
}

int MemoryFileSystem::remove(const std::string& path) {
  if (const int error = begin("remove", path)) return error;
  if (entries_.count(path) == 0) return -ENOENT;
  if (!writable(path)) return -EACCES;
  change_entries(folder_of(path), {{path, -1}});
  return 0;
}

int MemoryFileSystem::make_folder(const std::string& path, unsigned mode) {
  if (const int error = begin("make_folder", path)) return error;
  if (entries_.count(path) != 0) return -EEXIST;
  if (entries_.count(folder_of(path)) == 0) return -ENOENT;
  if (!writable(path)) return -EACCES;
  change_entries(folder_of(path), {{path, new_node(FileKind::folder, mode)}});
  return 0;
}

int MemoryFileSystem::lock(int file) {
  if (const int error = begin("lock", open_.at(file).path, true)) return error;
  const int node = open_.at(file).node;
  if (locks_.count(node) != 0) return -EWOULDBLOCK;
  locks_[node] = file;
  return 0;
}

void MemoryFileSystem::change_entries(const std::string& folder, std::map<std::string, int> set) {
  for (const auto& [path, node] : set) {
    if (node < 0) {
      entries_.erase(path);
    } else {
      entries_[path] = node;
    }
  }
  Change change;
  change.folder = folder;
  change.set = std::move(set);
  pending_.push_back(std::move(change));
}

void MemoryFileSystem::apply_to_durable(const Change& change) {
  for (const auto& [path, node] : change.set) {
    if (node < 0) {
      durable_entries_.erase(path);
    } else {
      durable_entries_[path] = node;
    }
  }
  if (change.node < 0) return;
  std::string& bytes = nodes_[change.node].durable_bytes;
  if (!change.is_write) {
    bytes.resize(change.size);
  } else {
    if (bytes.size() < change.offset + change.bytes.size()) bytes.resize(change.offset + change.bytes.size());
    bytes.replace(change.offset, change.bytes.size(), change.bytes);
  }
}

void MemoryFileSystem::make_durable(const std::function<bool(const Change&)>& chosen) {
  std::vector<Change> rest;
  for (Change& change : pending_) {
    if (chosen(change)) {
      apply_to_durable(change);
    } else {
      rest.push_back(std::move(change));
    }
  }
  pending_ = std::move(rest);
}

void MemoryFileSystem::crash(std::mt19937& random) {
  for (Change change : pending_) {
    const auto fate = random() % 4;
    if (fate == 0) continue;
    if (change.is_write && fate == 1) change.bytes.resize(random() % (change.bytes.size() + 1));
    if (change.is_write && fate == 2) change.bytes.assign(change.bytes.size(), '\0');
    apply_to_durable(change);
  }
  pending_.clear();
  open_.clear();
  locks_.clear();
  entries_ = durable_entries_;
  // A file whose folder was lost is lost.
  for (auto entry = entries_.begin(); entry != entries_.end();) {
    const bool orphan = entry->first != "/" && entries_.count(folder_of(entry->first)) == 0;
    entry = orphan ? entries_.erase(entry) : std::next(entry);
  }
  durable_entries_ = entries_;
  for (Node& node : nodes_) node.bytes = node.durable_bytes;
  countdown_ = 0;
  for_good_ = false;
  reached_ = false;
}

}  // namespace frostcal::test
