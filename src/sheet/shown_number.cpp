#include "sheet/shown_number.hpp"

#include <charconv>
#include <cmath>

#include "errors/bug.hpp"
#include "shop/setting.hpp"

namespace frostcal::sheet {

std::string fixed_number(double value, int decimals) {
  FROSTCAL_ASSERT(std::isfinite(value) && decimals >= 0 && decimals <= 6, "number on a sheet");
  char buffer[350];
  const auto end =
      std::to_chars(buffer, buffer + sizeof buffer, std::fabs(value), std::chars_format::fixed, decimals).ptr;
  const std::string text(buffer, end);
  const bool zero = text.find_first_not_of("0.") == std::string::npos;
  return value < 0 && !zero ? "\u2212" + text : text;
}

std::string shown_number(double value, int decimals) {
  std::string text = fixed_number(value, decimals);
  if (text.find('.') == std::string::npos) return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

std::string shown_duration(double seconds) {
  if (seconds < 90) return shown_number(std::ceil(seconds), 0) + "\u00a0s";
  if (seconds < 3597) return fixed_number(seconds / 60, 1) + "\u00a0min";
  const long minutes = std::lround(std::ceil(seconds / 60));
  const std::string rest = std::to_string(minutes % 60);
  return std::to_string(minutes / 60) + "\u00a0h\u00a0" + (rest.size() < 2 ? "0" : "") + rest + "\u00a0min";
}

std::string shown_length(double mm, shop::LengthUnit unit) {
  if (unit == shop::LengthUnit::inch) return shown_number(mm / shop::kMmPerInch, 2) + "\u00a0in";
  return shown_number(mm, 1) + "\u00a0mm";
}

std::string shown_diameter(double mm, shop::LengthUnit unit) {
  if (unit == shop::LengthUnit::inch) return shown_number(mm / shop::kMmPerInch, 3) + "\u00a0in";
  return shown_length(mm, unit);
}

std::string shown_drift(double tolerance_pct) {
  const std::string shown = shown_number(tolerance_pct, 1);
  return shown == "0" ? "no room for power to drift" : "power may drift \u00b1" + shown + " %";
}

}  // namespace frostcal::sheet
