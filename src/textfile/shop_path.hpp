// Where a path really leads, and that it stays inside the shop folder.
#pragma once

#include <filesystem>
#include <string>

#include "textfile/file_system.hpp"

namespace frostcal::textfile {

/// The real path of `path`, which need not exist yet (its folder may be missing too). Links are followed as
/// long as they stay under `root`; an empty root allows any place. Throws UserError when the path leaves the
/// root or is a link to nothing, SystemError when the file system refuses.
std::string resolve_inside(const std::filesystem::path& root, const std::filesystem::path& path,
                           FileSystem& files = real_file_system());

/// Makes the folder and its missing parents, each made durable; nothing outside `root`.
void make_folders(const std::filesystem::path& root, const std::filesystem::path& folder,
                  FileSystem& files = real_file_system());

}  // namespace frostcal::textfile
