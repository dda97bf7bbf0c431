#include "cli/text_option.hpp"

#include "errors/ascii.hpp"
#include "textfile/free_text.hpp"

namespace frostcal::cli {

std::string kept_text(const std::string& text, const std::string& what, std::size_t longest) {
  std::string line(errors::trimmed(textfile::on_one_line(text)));
  if (std::optional<errors::Fault> fault = textfile::free_text_fault(line, longest)) {
    fault->place.field = what;
    throw UsageError(errors::to_text(*fault));
  }
  return line;
}

std::string read_note(const Arguments& arguments, const std::string& option) {
  return kept_text(arguments.text(option), "--" + option, textfile::kLongestNote);
}

std::string read_by(const Arguments& arguments) {
  std::string by = kept_text(arguments.text("by"), "--by", textfile::kLongestName);
  if (by.empty()) throw UsageError("--by is missing: say who, with --by NAME");
  return by;
}

}  // namespace frostcal::cli
