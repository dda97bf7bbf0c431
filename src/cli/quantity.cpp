#include "cli/quantity.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "errors/ascii.hpp"
#include "shop/setting.hpp"

namespace frostcal::cli {

namespace {

struct Spelling {
  Unit unit;
  std::string_view word;
  double factor;
};

constexpr Spelling kSpellings[] = {{Unit::percent, "%", 1},
                                   {Unit::percent, "percent", 1},
                                   {Unit::percent, "pct", 1},
                                   {Unit::mm, "mm", 1},
                                   {Unit::mm, "cm", 10},
                                   {Unit::mm, "in", shop::kMmPerInch},
                                   {Unit::mm, "inch", shop::kMmPerInch},
                                   {Unit::mm, "inches", shop::kMmPerInch},
                                   {Unit::mm, "\"", shop::kMmPerInch},
                                   {Unit::minutes, "s", 1 / 60.0},
                                   {Unit::minutes, "sec", 1 / 60.0},
                                   {Unit::minutes, "secs", 1 / 60.0},
                                   {Unit::minutes, "second", 1 / 60.0},
                                   {Unit::minutes, "seconds", 1 / 60.0},
                                   {Unit::minutes, "m", 1},
                                   {Unit::minutes, "min", 1},
                                   {Unit::minutes, "mins", 1},
                                   {Unit::minutes, "minute", 1},
                                   {Unit::minutes, "minutes", 1},
                                   {Unit::minutes, "h", 60},
                                   {Unit::minutes, "hr", 60},
                                   {Unit::minutes, "hrs", 60},
                                   {Unit::minutes, "hour", 60},
                                   {Unit::minutes, "hours", 60},
                                   {Unit::dpi, "dpi", 1},
                                   {Unit::swatches, "swatch", 1},
                                   {Unit::swatches, "swatches", 1},
                                   {Unit::bottles, "bottle", 1},
                                   {Unit::bottles, "bottles", 1}};

std::optional<double> factor_of(std::string_view word, Unit unit) {
  if (unit == Unit::inch) {
    const std::optional<double> mm = factor_of(word, Unit::mm);
    if (!mm) return std::nullopt;
    return *mm / shop::kMmPerInch;
  }
  for (const Spelling& spelling : kSpellings) {
    if (spelling.unit == unit && spelling.word == word) return spelling.factor;
  }
  return std::nullopt;
}

/// Takes a number from the front of the text.
std::optional<double> take_number(std::string_view& text) {
  double value = 0;
  const auto [stop, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || !std::isfinite(value)) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(stop - text.data()));
  return value;
}

/// Takes the letters up to the next digit from the front of the text, without blanks round them.
std::string_view take_word(std::string_view& text) {
  const std::size_t end = std::min(text.find_first_of("0123456789.+-"), text.size());
  const std::string_view word = errors::trimmed(text.substr(0, end));
  text.remove_prefix(end);
  return word;
}

}  // namespace

std::optional<double> read_amount(std::string_view text, Unit unit) {
  const std::string lower = errors::to_lower(errors::trimmed(text));
  std::string_view rest = lower;
  std::optional<double> amount = take_number(rest);
  if (!amount || rest.empty()) return amount;
  double sum = 0;
  while (true) {
    const std::optional<double> factor = factor_of(take_word(rest), unit);
    if (!factor) return std::nullopt;
    sum += *amount * *factor;
    if (rest.empty()) return sum;
    if (unit != Unit::minutes) return std::nullopt;  // only times are said in parts: 1h20min
    amount = take_number(rest);
    if (!amount || *amount < 0) return std::nullopt;
  }
}

std::optional<std::pair<double, double>> read_pair(std::string_view text, Unit unit) {
  std::string lower = errors::to_lower(text);
  const std::string_view times = "\xC3\x97";  // the multiplication sign
  if (const std::size_t at = lower.find(times); at != std::string::npos) lower.replace(at, times.size(), "x");
  std::replace(lower.begin(), lower.end(), ',', '.');
  const std::size_t cross = lower.find('x');
  if (cross == std::string::npos) return std::nullopt;
  std::string first(errors::trimmed(std::string_view(lower).substr(0, cross)));
  const std::string second = lower.substr(cross + 1);
  if (!first.empty() && first.find_first_not_of("0123456789.+-e") == std::string::npos) {
    const std::size_t unit_start = second.find_first_not_of("0123456789.+- ");
    if (unit_start != std::string::npos) first += second.substr(unit_start);
  }
  const std::optional<double> a = read_amount(first, unit);
  const std::optional<double> b = read_amount(second, unit);
  if (!a || !b) return std::nullopt;
  return std::make_pair(*a, *b);
}

}  // namespace frostcal::cli
