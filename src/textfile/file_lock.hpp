// One writer at a time in a shop folder.
#pragma once

#include <filesystem>

#include "textfile/file_system.hpp"
#include "textfile/open_file.hpp"

namespace frostcal::textfile {

/// How long to try before giving up: a writer holds the lock for one row or one file, some milliseconds.
inline constexpr int kLockWaitMilliseconds = 5000;

/// Holds the lock on FOLDER/.lock until it goes out of scope; a killed program lets go of it as well. The
/// file is never renamed or removed (a lock on a file that gets replaced excludes nobody) and holds the
/// number of the process that took it last. The folder itself can't be locked in its place: over NFS that
/// needs something open for writing (flock(2)). Readers need no lock. Not to be taken twice by one thread.
class FileLock {
 public:
  /// Throws SystemError (EWOULDBLOCK) naming the holder when it stays taken, or when .lock cannot be opened.
  explicit FileLock(const std::filesystem::path& folder, FileSystem& files = real_file_system(),
                    int wait_milliseconds = kLockWaitMilliseconds);

 private:
  OpenFile file_;
};

}  // namespace frostcal::textfile
