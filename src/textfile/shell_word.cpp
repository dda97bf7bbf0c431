#include "textfile/shell_word.hpp"

#include <algorithm>
#include <string_view>

#include "errors/ascii.hpp"

namespace frostcal::textfile {

std::string single_quoted(const std::string& text) {
  std::string out = "'";
  for (const char c : text) out += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return out + "'";
}

std::string shell_word(const std::string& word) {
  const bool plain = !word.empty() && std::all_of(word.begin(), word.end(), [](char c) {
    return errors::is_letter_or_digit(c) || std::string_view("-_./:,+@%").find(c) != std::string_view::npos ||
           static_cast<unsigned char>(c) >= 0x80U;
  });
  return plain ? word : single_quoted(word);
}

}  // namespace frostcal::textfile
