#include "textfile/toml_text.hpp"

#include "errors/user_error.hpp"
#include "textfile/open_file.hpp"
#include "textfile/read_file.hpp"
#include "textfile/text_place.hpp"

namespace frostcal::textfile {

void check_toml_text(std::string_view text, const std::string& name) {
  if (text.size() > kMaxTomlBytes) {
    throw errors::UserError({{name, 0, 0, ""},
                             "a file of " + std::to_string(text.size()) + " bytes",
                             "at most " + std::to_string(kMaxTomlBytes) + " bytes",
                             "check that this is the right file"});
  }
  check_plain_text(text, name, kMaxTomlLineBytes);
}

std::string read_toml_text(const std::filesystem::path& root, const std::filesystem::path& path,
                           FileSystem& files) {
  std::string text = read_file(root, path, kMaxTomlBytes, files);
  check_toml_text(text, shown(path));
  return text;
}

}  // namespace frostcal::textfile
