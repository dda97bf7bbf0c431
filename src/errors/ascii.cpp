#include "errors/ascii.hpp"

namespace frostcal::errors {

char to_lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

char to_upper(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}

std::string to_lower(std::string_view text) {
  std::string lower(text);
  for (char& c : lower) c = to_lower(c);
  return lower;
}

std::string to_upper(std::string_view text) {
  std::string upper(text);
  for (char& c : upper) c = to_upper(c);
  return upper;
}

bool is_letter(char c) {
  return to_upper(c) >= 'A' && to_upper(c) <= 'Z';
}

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

bool is_letter_or_digit(char c) {
  return is_letter(c) || is_digit(c);
}

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlanks = " \t\r\n";
  const std::size_t first = text.find_first_not_of(kBlanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

}  // namespace frostcal::errors
