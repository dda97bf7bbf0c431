#include "textfile/text_place.hpp"

#include <algorithm>

#include "errors/user_error.hpp"
#include "textfile/utf8.hpp"

namespace frostcal::textfile {

errors::SourcePlace place_of(std::string_view text, std::size_t offset, const std::string& name) {
  int line = 1;
  std::size_t start = 0;
  for (std::size_t i = 0; i < offset; ++i) {
    const bool ends = text[i] == '\n' || (text[i] == '\r' && (i + 1 >= text.size() || text[i + 1] != '\n'));
    if (!ends) continue;
    ++line;
    start = i + 1;
  }
  return {name, line, static_cast<int>(character_count(text.substr(start, offset - start))) + 1, ""};
}

namespace {

std::string byte_text(char c) {
  constexpr char kDigits[] = "0123456789ABCDEF";
  const unsigned value = static_cast<unsigned char>(c);
  return std::string("the byte 0x") + kDigits[value >> 4U] + kDigits[value & 0xFU];
}

void check_line_lengths(std::string_view text, const std::string& name, std::size_t max_line_bytes) {
  std::size_t start = 0;
  while (start < text.size()) {
    const std::size_t end = std::min(text.find_first_of("\r\n", start), text.size());
    if (end - start > max_line_bytes) {
      errors::SourcePlace place = place_of(text, start, name);
      place.column = 0;
      throw errors::UserError({place, "a line of " + std::to_string(end - start) + " bytes",
                               "at most " + std::to_string(max_line_bytes) + " bytes in a line",
                               "check that this is the right file"});
    }
    start = end + 1;
  }
}

}  // namespace

void check_plain_text(std::string_view text, const std::string& name, std::size_t max_line_bytes) {
  if (has_utf16_mark(text)) {
    throw errors::UserError({{name, 0, 0, ""}, "UTF-16 text", "UTF-8 text", "save the file again as UTF-8"});
  }
  const std::string_view first = text.substr(0, 4);
  if (first == "PK\x03\x04" || first == "\xD0\xCF\x11\xE0") {  // OpenDocument and .xlsx are ZIP files; .xls
    throw errors::UserError({{name, 0, 0, ""},
                             "a spreadsheet's own file or an archive",
                             "plain text",
                             "in the spreadsheet, save it as CSV and give that file"});
  }
  check_line_lengths(text, name, max_line_bytes);
  const std::size_t nul = text.find('\0');
  if (nul != std::string_view::npos) {
    throw errors::UserError({place_of(text, nul, name), "a NUL byte", "plain text",
                             "the file is damaged or not text; restore it from a copy"});
  }
  if (const std::optional<std::size_t> bad = first_invalid_utf8(text)) {
    throw errors::UserError({place_of(text, *bad, name), byte_text(text[*bad]) + " that is not UTF-8",
                             "UTF-8 text", "save the file again with the character set UTF-8 (Unicode)"});
  }
}

std::optional<errors::Fault> unfinished_merge(std::string_view text, const std::string& name) {
  constexpr std::size_t kMark = 7;
  for (std::size_t start = 0; start < text.size();) {
    const std::size_t end = std::min(text.find_first_of("\r\n", start), text.size());
    std::string_view line = text.substr(start, end - start);
    if (start == 0 && line.substr(0, 3) == "\xEF\xBB\xBF") line.remove_prefix(3);
    const bool marked = !line.empty() && std::string_view("<|=>").find(line[0]) != std::string_view::npos &&
                        std::min(line.find_first_not_of(line[0]), line.size()) == kMark;
    const std::string_view rest = line.substr(std::min(kMark, line.size()));
    if (marked && (rest.empty() || (rest[0] == ' ' && line[0] != '='))) {
      errors::SourcePlace place = place_of(text, start, name);
      place.column = 0;
      return errors::Fault{
          place, errors::quoted(std::string(line)) + ", which marks a merge that was not finished",
          "the lines of one copy, or of both, without marks",
          "keep the lines that hold (README, Two copies of a shop) and delete those that begin "
          "with <<<<<<<, ======= and >>>>>>>"};
    }
    start = end + 1;
  }
  return std::nullopt;
}

}  // namespace frostcal::textfile
