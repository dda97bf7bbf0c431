// The one interface to the disk. Everything that frostcal reads or writes goes through it, so that a test can
// count the calls, make each of them fail, and model a power cut.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace frostcal::textfile {

enum class FileKind { file, folder, link, other };

struct FileStatus {
  FileKind kind = FileKind::other;
  std::uint64_t size = 0;
  unsigned mode = 0;  // permission bits
};

/// Thin over POSIX. Each call returns a value >= 0, or the negative of errno; none throws or retries.
/// `flags` of open are those of <fcntl.h>.
class FileSystem {
 public:
  virtual ~FileSystem() = default;

  virtual int open(const std::string& path, int flags, unsigned mode) = 0;
  virtual int close(int file) = 0;
  /// Reads at most `size` bytes from `offset`; 0 at the end.
  virtual long read(int file, char* buffer, std::size_t size, std::uint64_t offset) = 0;
  /// Writes at the file's position (at its end when opened with O_APPEND); may write less than asked.
  virtual long write(int file, const char* bytes, std::size_t size) = 0;
  virtual int truncate(int file, std::uint64_t size) = 0;
  virtual int sync(int file) = 0;           // fsync: contents and status
  virtual int sync_contents(int file) = 0;  // fdatasync
  virtual int change_mode(int file, unsigned mode) = 0;
  virtual int status(int file, FileStatus& status) = 0;

  virtual int link_status(const std::string& path, FileStatus& status) = 0;  // lstat
  virtual int real_path(const std::string& path, std::string& resolved) = 0;
  virtual int list(const std::string& folder, std::vector<std::string>& names) = 0;  // sorted
  virtual int rename(const std::string& from, const std::string& to) = 0;
  virtual int remove(const std::string& path) = 0;
  virtual int make_folder(const std::string& path, unsigned mode) = 0;

  /// Exclusive advisory lock, not waiting; -EWOULDBLOCK when another open file holds it. Closing releases it.
  virtual int lock(int file) = 0;
  virtual void wait_milliseconds(int milliseconds) = 0;
  virtual long own_process_number() = 0;
};

/// The real disk. The object has no state.
FileSystem& real_file_system();

}  // namespace frostcal::textfile
