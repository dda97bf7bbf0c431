// A file that is closed when it goes out of scope, and the retries that every caller needs.
#pragma once

#include <cerrno>
#include <filesystem>
#include <string>
#include <string_view>

#include "textfile/file_system.hpp"

namespace frostcal::textfile {

/// Calls again while a signal interrupts.
template <typename Call>
auto retry_interrupted(Call call) {
  auto result = call();
  while (result == -EINTR) result = call();
  return result;
}

class OpenFile {
 public:
  /// Takes the number that FileSystem::open returned (negative: nothing is open).
  OpenFile(FileSystem& files, int file) : files_(files), file_(file) {}
  ~OpenFile() { (void)close(); }
  OpenFile(const OpenFile&) = delete;
  OpenFile& operator=(const OpenFile&) = delete;

  int number() const { return file_; }
  bool is_open() const { return file_ >= 0; }
  /// 0 or -errno. An interrupted close has closed the file on Linux (close(2)), so it counts as done.
  int close() {
    if (file_ < 0) return 0;
    const int result = files_.close(file_);
    file_ = -1;
    return result == -EINTR ? 0 : result;
  }

 private:
  FileSystem& files_;
  int file_;
};

/// Writes all of it, over short writes and interruptions. 0 or -errno.
int write_all(FileSystem& files, int file, std::string_view bytes);

/// Syncs a folder, which makes new and renamed entries durable. 0 or -errno.
int sync_folder(FileSystem& files, const std::string& folder);

/// The path as messages show it: "results/a.csv", not "./results/a.csv".
std::string shown(const std::filesystem::path& path);

}  // namespace frostcal::textfile
