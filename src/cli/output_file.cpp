#include "cli/output_file.hpp"

#include <fcntl.h>

#include <filesystem>

#include "cli/terminal.hpp"
#include "errors/system_error.hpp"
#include "errors/user_error.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/open_file.hpp"
#include "textfile/read_file.hpp"
#include "textfile/shop_path.hpp"

namespace frostcal::cli {

namespace {

namespace fs = std::filesystem;

constexpr std::size_t kFirstBytes = 4096;

bool is_in_shop_folders(const fs::path& real) {
  fs::path part = real;
  for (fs::path folder = real.parent_path(); part != folder; part = folder, folder = folder.parent_path()) {
    const std::string name = part.filename().string();
    if (name != "grids" && name != "results" && part != folder / ".lock") continue;
    if (textfile::exists(folder / "grids" / "shop.toml")) return true;
  }
  return false;
}

/// Empty for a file that is not there, is empty, or is not a plain file (which durable_write refuses).
std::string first_bytes(const std::string& file) {
  textfile::FileSystem& files = textfile::real_file_system();
  textfile::FileStatus status;
  const std::string real = textfile::resolve_inside({}, file);
  if (files.link_status(real, status) < 0 || status.kind != textfile::FileKind::file) return "";
  const textfile::OpenFile open(
      files, textfile::retry_interrupted([&] { return files.open(real, O_RDONLY | O_CLOEXEC, 0); }));
  if (!open.is_open()) throw errors::SystemError(file, "look at the older file", -open.number());
  std::string bytes(kFirstBytes, '\0');
  const long got =
      textfile::retry_interrupted([&] { return files.read(open.number(), bytes.data(), bytes.size(), 0); });
  if (got < 0) throw errors::SystemError(file, "look at the older file", static_cast<int>(-got));
  bytes.resize(static_cast<std::size_t>(got));
  return bytes;
}

}  // namespace

void refuse_shop_file(const std::string& file) {
  const std::string real = textfile::resolve_inside({}, file);
  if (!is_in_shop_folders(real)) return;
  throw errors::UserError(
      {{file, 0, 0, ""},
       textfile::exists(real) ? "one of the shop's own files, " + real : "a place among the shop's own files",
       "a file outside the shop's folders grids and results",
       "name another file"});
}

void write_output(const std::string& file, const OutputKind& kind, std::string_view bytes) {
  refuse_shop_file(file);
  const std::string older = first_bytes(file);
  if (!older.empty() && !kind.is_beginning(older)) {
    throw errors::UserError({{file, 0, 0, ""},
                             "a file that is not " + kind.name,
                             "a new file, or " + kind.name + " to replace",
                             "name another file or move it away"});
  }
  const InterruptDelay delay;
  textfile::durable_write_anywhere(file, bytes);
}

}  // namespace frostcal::cli
