#include "textfile/time_text.hpp"

#include <algorithm>
#include <array>

#include "errors/ascii.hpp"
#include "errors/bug.hpp"

namespace frostcal::textfile {

namespace {

constexpr std::int64_t kSecondsPerDay = 86400;
constexpr std::int64_t kLastSecond = 253402300799;  // 9999-12-31T23:59:59Z

bool is_leap(int year) {
  return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

int days_in_month(int year, int month) {
  constexpr std::array<int, 12> kDays{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return month == 2 && is_leap(year) ? 29 : kDays[static_cast<std::size_t>(month - 1)];
}

int number_at(std::string_view text, std::size_t at, std::size_t length) {
  int value = 0;
  for (const char c : text.substr(at, length)) value = value * 10 + (c - '0');
  return value;
}

void append_padded(std::string& text, std::int64_t value, std::size_t width) {
  const std::string digits = std::to_string(value);
  text += std::string(width - std::min(width, digits.size()), '0') + digits;
}

}  // namespace

std::optional<int> day_number(std::string_view text) {
  if (!is_utc_time(std::string(text.substr(0, 10)) + "T00:00:00Z")) return std::nullopt;
  const int year = number_at(text, 0, 4);
  int days = number_at(text, 8, 2) - 1;
  for (int y = 1970; y < year; ++y) days += is_leap(y) ? 366 : 365;
  for (int m = 1; m < number_at(text, 5, 2); ++m) days += days_in_month(year, m);
  return days;
}

bool is_bare_day(std::string_view time) {
  return time.size() > 10 && time.substr(10) == "T00:00:00Z";
}

std::string date_text(int day) {
  return format_utc_time(day * kSecondsPerDay).substr(0, 10);
}

bool is_utc_time(std::string_view text) {
  constexpr std::string_view kForm = "dddd-dd-ddTdd:dd:ddZ";
  if (text.size() != kForm.size()) return false;
  for (std::size_t i = 0; i < kForm.size(); ++i) {
    const bool digit = errors::is_digit(text[i]);
    if (kForm[i] == 'd' ? !digit : text[i] != kForm[i]) return false;
  }
  const int year = number_at(text, 0, 4);
  const int month = number_at(text, 5, 2);
  const int day = number_at(text, 8, 2);
  return year >= 1970 && month >= 1 && month <= 12 && day >= 1 && day <= days_in_month(year, month) &&
         number_at(text, 11, 2) < 24 && number_at(text, 14, 2) < 60 && number_at(text, 17, 2) < 60;
}

bool is_spreadsheet_date(std::string_view text) {
  const auto take_digits = [&](std::size_t most) {
    const std::size_t digits = std::min(text.find_first_not_of("0123456789"), text.size());
    if (digits == 0 || digits > most) return false;
    text.remove_prefix(digits);
    return true;
  };
  const auto take = [&](char c) {
    if (text.empty() || text.front() != c) return false;
    text.remove_prefix(1);
    return true;
  };
  if (!take_digits(4) || text.empty()) return false;
  const char separator = text.front();
  if (std::string_view("./-").find(separator) == std::string_view::npos) return false;
  if (!take(separator) || !take_digits(2) || !take(separator) || !take_digits(4)) return false;
  (void)(take(',') || take('T'));
  while (take(' ')) {
  }
  if (text.empty()) return true;
  if (!take_digits(2) || !take(':') || !take_digits(2)) return false;
  if (take(':') && !take_digits(2)) return false;
  const std::string rest = errors::to_lower(errors::trimmed(text));
  return rest.empty() || rest == "am" || rest == "pm";
}

std::optional<std::int64_t> utc_seconds(std::string_view text) {
  if (!is_utc_time(text)) return std::nullopt;
  return *day_number(text) * kSecondsPerDay + 3600 * number_at(text, 11, 2) + 60 * number_at(text, 14, 2) +
         number_at(text, 17, 2);
}

std::string format_utc_time(std::int64_t seconds) {
  FROSTCAL_ASSERT(seconds >= 0 && seconds <= kLastSecond, "a time from 1970 to 9999");
  std::int64_t days = seconds / kSecondsPerDay;
  const std::int64_t rest = seconds % kSecondsPerDay;
  int year = 1970;
  while (days >= (is_leap(year) ? 366 : 365)) {
    days -= is_leap(year) ? 366 : 365;
    ++year;
  }
  int month = 1;
  while (days >= days_in_month(year, month)) days -= days_in_month(year, month++);
  std::string text;
  append_padded(text, year, 4);
  text += '-';
  append_padded(text, month, 2);
  text += '-';
  append_padded(text, days + 1, 2);
  text += 'T';
  append_padded(text, rest / 3600, 2);
  text += ':';
  append_padded(text, rest / 60 % 60, 2);
  text += ':';
  append_padded(text, rest % 60, 2);
  return text + 'Z';
}

}  // namespace frostcal::textfile
