#include "textfile/open_file.hpp"

#include <fcntl.h>

namespace frostcal::textfile {

int write_all(FileSystem& files, int file, std::string_view bytes) {
  while (!bytes.empty()) {
    const long written = retry_interrupted([&] { return files.write(file, bytes.data(), bytes.size()); });
    if (written < 0) return static_cast<int>(written);
    if (written == 0) return -EIO;  // would never end
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return 0;
}

int sync_folder(FileSystem& files, const std::string& folder) {
  OpenFile open(files,
                retry_interrupted([&] { return files.open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0); }));
  if (!open.is_open()) return open.number();
  const int synced = retry_interrupted([&] { return files.sync(open.number()); });
  // Some file systems cannot sync a folder and say EINVAL; there is nothing more to be done there.
  return synced == -EINVAL ? 0 : synced;
}

std::string shown(const std::filesystem::path& path) {
  return path.lexically_normal().string();
}

}  // namespace frostcal::textfile
