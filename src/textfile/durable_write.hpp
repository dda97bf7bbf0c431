// Replace a whole file so that it is the old one or the new one, whatever happens.
#pragma once

#include <filesystem>
#include <string_view>

#include "textfile/file_system.hpp"

namespace frostcal::textfile {

/// Takes the shop's lock, writes FILE's bytes to .NAME.tmp beside it, syncs, renames over it, syncs the
/// folder. Missing folders are made. A link inside the shop is followed and stays; permission bits of an old
/// file are kept. When this returns, the new contents are on the disk. Throws SystemError (path, action,
/// reason) with the old file in place, or, when only the last sync failed, the new one; no temporary file is
/// left. `root` is the shop folder; a path that leads out of it is a UserError.
void durable_write(const std::filesystem::path& root, const std::filesystem::path& file,
                   std::string_view bytes, FileSystem& files = real_file_system());

/// The same for a caller that already holds the FileLock of `root`.
void durable_write_locked(const std::filesystem::path& root, const std::filesystem::path& file,
                          std::string_view bytes, FileSystem& files = real_file_system());

/// The same outside any shop (a file that the user named with --output, --form or --report): any place, its
/// folder must exist. No lock is taken: the temporary file is .NAME.PROCESS.tmp, so that of two programs that
/// write one file the later one wins and both files are whole. Those that killed runs left are removed.
void durable_write_anywhere(const std::filesystem::path& file, std::string_view bytes,
                            FileSystem& files = real_file_system());

}  // namespace frostcal::textfile
