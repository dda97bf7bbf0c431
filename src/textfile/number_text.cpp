#include "textfile/number_text.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <system_error>

#include "errors/ascii.hpp"
#include "errors/bug.hpp"

namespace frostcal::textfile {

using errors::is_digit;

namespace {

/// "digits,digits" with an optional sign, and nothing else.
bool has_decimal_comma(std::string_view text) {
  if (!text.empty() && (text[0] == '-' || text[0] == '+')) text.remove_prefix(1);
  const std::size_t comma = text.find(',');
  if (comma == std::string_view::npos || comma == 0 || comma + 1 == text.size()) return false;
  return std::all_of(text.begin(), text.end(), [](char c) { return is_digit(c) || c == ','; }) &&
         text.find(',', comma + 1) == std::string_view::npos;
}

std::string remedy_for(std::string_view text) {
  if (text.empty()) return "write a number";
  const bool digit = std::any_of(text.begin(), text.end(), is_digit);
  if (!digit) return "write a number in digits";
  const bool marks_only = std::all_of(text.begin(), text.end(), [](char c) {
    return is_digit(c) || c == '.' || c == ',' || c == '\'' || c == ' ' || c == '-' || c == '+';
  });
  if (marks_only) return "write it without thousands separators, with a point for the decimals";
  if (is_digit(text[0]) || text[0] == '.' || text[0] == '-') return "write the number alone, without a unit";
  return "write a number in digits";
}

}  // namespace

NumberReading read_number(std::string_view text) {
  text = errors::trimmed(text);
  std::string digits(text);
  if (has_decimal_comma(text)) std::replace(digits.begin(), digits.end(), ',', '.');
  const char* first = digits.data();
  const char* const last = digits.data() + digits.size();
  if (first != last && *first == '+') {
    ++first;
    if (first != last && *first == '-') return {std::nullopt, remedy_for(text)};
  }
  double value = 0;
  const std::from_chars_result result = std::from_chars(first, last, value);
  if (result.ec == std::errc::result_out_of_range && result.ptr == last) {
    return {std::nullopt, "write a number of a size that can occur"};
  }
  if (result.ec != std::errc() || result.ptr != last) return {std::nullopt, remedy_for(text)};
  if (!std::isfinite(value)) return {std::nullopt, "write a finite number"};
  return {value, ""};
}

std::optional<double> parse_number(std::string_view text) {
  return read_number(text).value;
}

std::optional<long long> parse_integer(std::string_view text) {
  const std::optional<double> value = parse_number(text);
  if (!value || std::abs(*value) > 1e15 || std::floor(*value) != *value) return std::nullopt;
  return static_cast<long long>(*value);
}

std::string format_fixed(double value, int decimals) {
  FROSTCAL_ASSERT(std::isfinite(value), "only finite numbers are written");
  FROSTCAL_ASSERT(decimals >= 0 && decimals <= 12 && decimals != 3, "0, 1, 2 or 4 to 12 decimals");
  std::array<char, 400> buffer{};
  const std::to_chars_result result =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, decimals);
  FROSTCAL_ASSERT(result.ec == std::errc(), "a double fits in 400 characters");
  std::string text(buffer.data(), result.ptr);
  if (text[0] == '-' && text.find_first_of("123456789") == std::string::npos) text.erase(0, 1);
  return text;
}

std::string format_number(double value) {
  std::string text = format_fixed(value, 4);
  std::size_t decimals = 4;
  while (decimals > 0 && text.back() == '0') {
    text.pop_back();
    --decimals;
  }
  if (decimals == 3) text += '0';
  if (decimals == 0) text.pop_back();  // the point
  return text;
}

}  // namespace frostcal::textfile
