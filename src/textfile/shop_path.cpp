#include "textfile/shop_path.hpp"

#include "errors/system_error.hpp"
#include "errors/user_error.hpp"
#include "textfile/open_file.hpp"

namespace frostcal::textfile {

namespace {

namespace fs = std::filesystem;

/// Real path, or of the nearest existing folder with the missing names after it.
std::string resolve(const fs::path& path, FileSystem& files) {
  std::string resolved;
  const int found = files.real_path(path.string(), resolved);
  if (found == 0) return resolved;
  if (found != -ENOENT) throw errors::SystemError(shown(path), "find", -found);
  FileStatus status;
  if (files.link_status(path.string(), status) == 0 && status.kind == FileKind::link) {
    throw errors::UserError({{shown(path), 0, 0, ""},
                             "a link to nothing",
                             "a file",
                             "remove the link or name the file itself; what comes from a pipe is named -"});
  }
  if (!path.has_filename()) throw errors::SystemError(shown(path), "find", ENOENT);
  fs::path parent = path.parent_path();
  if (parent.empty()) parent = ".";
  return (fs::path(resolve(parent, files)) / path.filename()).string();
}

bool is_inside(const std::string& root, const std::string& path) {
  if (root == "/" || path == root) return true;
  return path.size() > root.size() && path.compare(0, root.size(), root) == 0 && path[root.size()] == '/';
}

}  // namespace

std::string resolve_inside(const fs::path& root, const fs::path& path, FileSystem& files) {
  // The text form is checked first: "grids/../../x" must not depend on what exists.
  for (const fs::path& part : path.lexically_relative(root)) {
    if (!root.empty() && part == "..") {
      throw errors::UserError(
          {{shown(path), 0, 0, ""}, "a path out of the shop folder", "a path inside it", ""});
    }
  }
  std::string resolved = resolve(path, files);
  if (root.empty()) return resolved;
  std::string real_root;
  const int found = files.real_path(root.string(), real_root);
  if (found < 0) throw errors::SystemError(shown(root), "find the shop folder", -found);
  if (!is_inside(real_root, resolved)) {
    throw errors::UserError({{shown(path), 0, 0, ""},
                             "a link out of the shop folder, to " + resolved,
                             "a file inside the shop folder",
                             "replace the link by the file itself"});
  }
  return resolved;
}

void make_folders(const fs::path& root, const fs::path& folder, FileSystem& files) {
  const std::string resolved = resolve_inside(root, folder, files);
  FileStatus status;
  const int found = files.link_status(resolved, status);
  if (found == 0) {
    if (status.kind == FileKind::folder) return;
    throw errors::UserError({{shown(folder), 0, 0, ""}, "a file", "a folder", "move the file away"});
  }
  if (found != -ENOENT) throw errors::SystemError(shown(folder), "look at the folder", -found);
  fs::path parent = folder.parent_path();
  if (parent.empty()) parent = ".";
  make_folders(root, parent, files);
  const int made = files.make_folder(resolved, 0777);
  if (made < 0 && made != -EEXIST) throw errors::SystemError(shown(folder), "make the folder", -made);
  const int synced = sync_folder(files, fs::path(resolved).parent_path().string());
  if (synced < 0) throw errors::SystemError(shown(parent), "make durable", -synced);
}

}  // namespace frostcal::textfile
