#include "textfile/read_file.hpp"

#include <fcntl.h>

#include "errors/system_error.hpp"
#include "errors/user_error.hpp"
#include "textfile/open_file.hpp"
#include "textfile/shop_path.hpp"

namespace frostcal::textfile {

namespace {

std::string size_text(std::uint64_t bytes) {
  if (bytes >= 10U * 1024U * 1024U) return std::to_string(bytes / (1024U * 1024U)) + " MiB";
  if (bytes >= 10U * 1024U) return std::to_string(bytes / 1024U) + " KiB";
  return std::to_string(bytes) + " bytes";
}

void refuse_size(const std::string& name, std::uint64_t size, std::uint64_t max_bytes) {
  throw errors::UserError({{name, 0, 0, ""},
                           "a file of " + size_text(size),
                           "at most " + size_text(max_bytes),
                           "check that this is the right file"});
}

}  // namespace

std::string read_file(const std::filesystem::path& root, const std::filesystem::path& path,
                      std::uint64_t max_bytes, FileSystem& files) {
  const std::string name = shown(path);
  const std::string resolved = resolve_inside(root, path, files);
  // O_NONBLOCK: opening a pipe that nobody writes to must not hang.
  OpenFile file(
      files, retry_interrupted([&] { return files.open(resolved, O_RDONLY | O_CLOEXEC | O_NONBLOCK, 0); }));
  if (!file.is_open()) throw errors::SystemError(name, "open for reading", -file.number());
  FileStatus status;
  const int known = files.status(file.number(), status);
  if (known < 0) throw errors::SystemError(name, "look at the file", -known);
  if (status.kind != FileKind::file) {
    throw errors::UserError(
        {{name, 0, 0, ""},
         status.kind == FileKind::folder ? "a folder" : "something that is not a plain file",
         "a plain file",
         ""});
  }
  if (status.size > max_bytes) refuse_size(name, status.size, max_bytes);
  std::string bytes;
  std::string block(64U * 1024U, '\0');
  for (;;) {
    const long got = retry_interrupted(
        [&] { return files.read(file.number(), block.data(), block.size(), bytes.size()); });
    if (got < 0) throw errors::SystemError(name, "read", static_cast<int>(-got));
    if (got == 0) return bytes;
    bytes.append(block, 0, static_cast<std::size_t>(got));
    if (bytes.size() > max_bytes) refuse_size(name, bytes.size(), max_bytes);
  }
}

bool exists(const std::filesystem::path& path, FileSystem& files) {
  FileStatus status;
  const int found = files.link_status(path.string(), status);
  if (found < 0 && found != -ENOENT && found != -ENOTDIR)
    throw errors::SystemError(shown(path), "look at the file", -found);
  return found == 0;
}

}  // namespace frostcal::textfile
