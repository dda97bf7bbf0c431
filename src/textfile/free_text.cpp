#include "textfile/free_text.hpp"

#include <algorithm>

#include "textfile/utf8.hpp"

namespace frostcal::textfile {

namespace {

bool is_control(char c) {
  return static_cast<unsigned char>(c) < 0x20 || c == 0x7F;
}

std::string byte_at(std::string_view text, std::size_t offset) {
  constexpr char kDigits[] = "0123456789ABCDEF";
  const unsigned value = static_cast<unsigned char>(text[offset]);
  return std::string("0x") + kDigits[value >> 4U] + kDigits[value & 0xFU] + " as character " +
         std::to_string(character_count(text.substr(0, offset)) + 1);
}

}  // namespace

std::string on_one_line(std::string_view text) {
  std::string line;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\n' && i > 0 && text[i - 1] == '\r') continue;
    line += text[i] == '\n' || text[i] == '\r' || text[i] == '\t' ? ' ' : text[i];
  }
  return line;
}

std::optional<errors::Fault> free_text_fault(std::string_view text, std::size_t longest) {
  if (const std::optional<std::size_t> bad = first_invalid_utf8(text)) {
    return errors::Fault{{},
                         "the byte " + byte_at(text, *bad) + ", which is not UTF-8",
                         "text in UTF-8",
                         "let the terminal write UTF-8, or leave the accents out"};
  }
  const auto control = std::find_if(text.begin(), text.end(), is_control);
  if (control != text.end()) {
    return errors::Fault{
        {},
        "the control character " + byte_at(text, static_cast<std::size_t>(control - text.begin())),
        "text without control characters",
        "leave it out"};
  }
  const std::size_t count = character_count(text);
  if (count > longest) {
    return errors::Fault{{},
                         std::to_string(count) + " characters",
                         "at most " + std::to_string(longest),
                         "say it in fewer words"};
  }
  return std::nullopt;
}

}  // namespace frostcal::textfile
