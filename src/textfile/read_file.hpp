// A whole file into memory, with a bound on its size.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

#include "textfile/file_system.hpp"

namespace frostcal::textfile {

/// Far above any real file of a shop (100,000 grades take about 6 MB), far below what would hurt.
inline constexpr std::uint64_t kMaxCsvBytes = 32U * 1024U * 1024U;

/// All bytes of a regular file. Throws SystemError when it is missing or cannot be read, UserError when it is
/// a folder or a device, larger than `max_bytes`, or leads out of `root` (empty root: any place, for a file
/// that the user named).
std::string read_file(const std::filesystem::path& root, const std::filesystem::path& path,
                      std::uint64_t max_bytes = kMaxCsvBytes, FileSystem& files = real_file_system());

/// True when something has that name, a link to nothing included. Throws SystemError when that cannot be
/// told.
bool exists(const std::filesystem::path& path, FileSystem& files = real_file_system());

}  // namespace frostcal::textfile
