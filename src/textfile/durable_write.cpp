#include "textfile/durable_write.hpp"

#include <fcntl.h>

#include <string>
#include <vector>

#include "errors/system_error.hpp"
#include "errors/user_error.hpp"
#include "textfile/file_lock.hpp"
#include "textfile/open_file.hpp"
#include "textfile/shop_path.hpp"

namespace frostcal::textfile {

namespace {

namespace fs = std::filesystem;

std::string write_remedy(int error, const fs::path& file) {
  if (error == -ENOSPC || error == -EDQUOT)
    return "free some space and do it again; the old file is unchanged";
  if (error == -EACCES || error == -EROFS || error == -EPERM) {
    const fs::path folder = file.has_parent_path() ? file.parent_path() : fs::path(".");
    return "the folder " + shown(folder) + " must be writable";
  }
  if (error == -ENOENT && file.has_parent_path()) {
    return "make the folder " + shown(file.parent_path()) + " first";
  }
  return "";
}

class Replacement {
 public:
  /// `alone`: the caller holds a lock, so that no other program writes this file now.
  Replacement(const fs::path& file, const std::string& target, bool alone, FileSystem& files)
      : file_(file), target_(target), alone_(alone), files_(files) {
    const fs::path path(target);
    folder_ = path.parent_path().string();
    stem_ = "." + path.filename().string() + ".";
    const std::string process = alone ? "" : std::to_string(files.own_process_number()) + '.';
    temporary_ = in_folder(stem_ + process + kEnding);
  }

  void run(std::string_view bytes) {
    const bool had_old = look_at_old();
    try {
      write_temporary(bytes, had_old);
      check(files_.rename(temporary_, target_), "replace");
    } catch (...) {
      (void)files_.remove(temporary_);
      throw;
    }
    check(sync_folder(files_, folder_), "make durable (it is written, but may not survive a power cut)");
  }

 private:
  static constexpr const char* kEnding = "tmp";

  std::string in_folder(const std::string& name) const { return (fs::path(folder_) / name).string(); }

  void check(int result, const std::string& action) const {
    if (result < 0) throw errors::SystemError(shown(file_), action, -result, write_remedy(result, file_));
  }

  /// Whether the name is that of a temporary file of any process.
  bool is_temporary(const std::string& name) const {
    if (name.compare(0, stem_.size(), stem_) != 0) return false;
    const std::string rest = name.substr(stem_.size());
    const std::size_t end = rest.find_first_not_of("0123456789");
    return end != 0 && end != std::string::npos && rest.substr(end) == std::string(".") + kEnding;
  }

  /// What killed runs left of this file: nobody holds its lock. One without contents may be about to be
  /// locked.
  void remove_leftovers() {
    std::vector<std::string> names;
    if (files_.list(folder_, names) < 0) return;
    for (const std::string& name : names) {
      const std::string path = in_folder(name);
      FileStatus found;
      if (!is_temporary(name) || files_.link_status(path, found) < 0) continue;
      if (found.kind != FileKind::file || found.size == 0) continue;
      const OpenFile left(files_, files_.open(path, O_RDWR | O_NOFOLLOW | O_CLOEXEC, 0));
      if (left.is_open() && files_.lock(left.number()) == 0) (void)files_.remove(path);
    }
  }

  bool look_at_old() {
    const int found = files_.link_status(target_, old_);
    if (found == -ENOENT) return false;
    check(found, "look at the file");
    if (old_.kind != FileKind::file) {
      throw errors::UserError(
          {{shown(file_), 0, 0, ""},
           old_.kind == FileKind::folder ? "a folder" : "something that is not a plain file",
           "a file or nothing",
           "move it away"});
    }
    return true;
  }

  void write_temporary(std::string_view bytes, bool had_old) {
    if (!alone_) remove_leftovers();
    const int removed = files_.remove(temporary_);  // left by a killed run
    if (removed < 0 && removed != -ENOENT) check(removed, "write");
    OpenFile file(files_, retry_interrupted([&] {
                    return files_.open(temporary_, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC,
                                       0666);
                  }));
    check(file.number(), "write");
    if (!alone_) (void)files_.lock(file.number());
    check(write_all(files_, file.number(), bytes), "write");
    if (had_old)
      check(retry_interrupted([&] { return files_.change_mode(file.number(), old_.mode); }), "write");
    check(retry_interrupted([&] { return files_.sync(file.number()); }), "make durable");
    check(file.close(), "write");
  }

  fs::path file_;
  std::string target_;
  bool alone_;
  std::string folder_;
  std::string stem_;  // of its temporary names
  std::string temporary_;
  FileStatus old_;
  FileSystem& files_;
};

}  // namespace

void durable_write(const fs::path& root, const fs::path& file, std::string_view bytes, FileSystem& files) {
  const FileLock lock(root, files);
  durable_write_locked(root, file, bytes, files);
}

void durable_write_locked(const fs::path& root, const fs::path& file, std::string_view bytes,
                          FileSystem& files) {
  if (file.has_parent_path()) make_folders(root, file.parent_path(), files);
  Replacement(file, resolve_inside(root, file, files), /*alone=*/true, files).run(bytes);
}

void durable_write_anywhere(const fs::path& file, std::string_view bytes, FileSystem& files) {
  Replacement(file, resolve_inside({}, file, files), /*alone=*/false, files).run(bytes);
}

}  // namespace frostcal::textfile
