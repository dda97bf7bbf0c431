#include "textfile/file_system.hpp"

#include <dirent.h>
#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <thread>

namespace frostcal::textfile {

namespace {

int result(int value) {
  return value < 0 ? -errno : value;
}

FileStatus from_stat(const struct stat& entry) {
  FileStatus status;
  status.size = static_cast<std::uint64_t>(entry.st_size);
  status.mode = entry.st_mode & 07777U;
  if (S_ISREG(entry.st_mode)) status.kind = FileKind::file;
  if (S_ISDIR(entry.st_mode)) status.kind = FileKind::folder;
  if (S_ISLNK(entry.st_mode)) status.kind = FileKind::link;
  return status;
}

class RealFileSystem final : public FileSystem {
 public:
  int open(const std::string& path, int flags, unsigned mode) override {
    return result(::open(path.c_str(), flags, static_cast<mode_t>(mode)));
  }
  int close(int file) override { return result(::close(file)); }
  long read(int file, char* buffer, std::size_t size, std::uint64_t offset) override {
    const ssize_t got = ::pread(file, buffer, size, static_cast<off_t>(offset));
    return got < 0 ? -errno : got;
  }
  long write(int file, const char* bytes, std::size_t size) override {
    const ssize_t written = ::write(file, bytes, size);
    return written < 0 ? -errno : written;
  }
  int truncate(int file, std::uint64_t size) override {
    return result(::ftruncate(file, static_cast<off_t>(size)));
  }
  int sync(int file) override { return result(::fsync(file)); }
  int sync_contents(int file) override { return result(::fdatasync(file)); }
  int change_mode(int file, unsigned mode) override {
    return result(::fchmod(file, static_cast<mode_t>(mode)));
  }
  int status(int file, FileStatus& status) override {
    struct stat entry {};
    if (::fstat(file, &entry) < 0) return -errno;
    status = from_stat(entry);
    return 0;
  }
  int link_status(const std::string& path, FileStatus& status) override {
    struct stat entry {};
    if (::lstat(path.c_str(), &entry) < 0) return -errno;
    status = from_stat(entry);
    return 0;
  }
  int real_path(const std::string& path, std::string& resolved) override {
    char* text = ::realpath(path.c_str(), nullptr);
    if (text == nullptr) return -errno;
    resolved = text;
    std::free(text);
    return 0;
  }
  int list(const std::string& folder, std::vector<std::string>& names) override {
    DIR* entries = ::opendir(folder.c_str());
    if (entries == nullptr) return -errno;
    names.clear();
    errno = 0;
    while (const dirent* entry = ::readdir(entries)) {
      const std::string name = entry->d_name;
      if (name != "." && name != "..") names.push_back(name);
    }
    const int error = errno;
    ::closedir(entries);
    std::sort(names.begin(), names.end());
    return -error;
  }
  int rename(const std::string& from, const std::string& to) override {
    return result(::rename(from.c_str(), to.c_str()));
  }
  int remove(const std::string& path) override { return result(::unlink(path.c_str())); }
  int make_folder(const std::string& path, unsigned mode) override {
    return result(::mkdir(path.c_str(), static_cast<mode_t>(mode)));
  }
  int lock(int file) override { return result(::flock(file, LOCK_EX | LOCK_NB)); }
  void wait_milliseconds(int milliseconds) override {
    std::this_thread::sleep_for(std::chrono::milliseconds(milliseconds));
  }
  long own_process_number() override { return ::getpid(); }
};

}  // namespace

FileSystem& real_file_system() {
  static RealFileSystem files;
  return files;
}

}  // namespace frostcal::textfile
