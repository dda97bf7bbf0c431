// All that the operator dials in for one fill, and what it means at the glass.
#pragma once

#include <algorithm>
#include <string>
#include <tuple>
#include <vector>

#include "shop/machine.hpp"

namespace frostcal::shop {

struct Setting {
  double power_pct = 0;
  double speed_pct = 0;
  int dpi = 0;
  double tone_pct = 100;  // share of the fill that is black; 100 = solid
  std::string screen;     // how the driver turns a grey tone into dots
  int passes = 1;
};

/// The screens that frostcal can draw, by the names that Setting::screen and shop.toml give them.
const std::vector<std::string>& drawn_screens();

/// True when both say the same dials, to within kSameDial.
bool same_setting(const Setting& a, const Setting& b);
/// The first in the range that is the same setting, or `end`.
template <typename Iterator>
Iterator find_setting(Iterator begin, Iterator end, const Setting& setting) {
  return std::find_if(begin, end, [&](const Setting& one) { return same_setting(one, setting); });
}

/// What the driver takes one fill for: power, speed and passes. dpi belongs to the burn, tone to the drawing.
using Recipe = std::tuple<double, double, int>;
Recipe recipe_of(const Setting& setting);

/// 25.4 mm to the inch.
inline constexpr double kMmPerInch = 25.4;
inline double pitch_mm(int dpi) {
  return kMmPerInch / dpi;
}

/// Mean energy per area in J/mm2: N * P * tone / (v * pitch), P in W, v in mm/s, pitch in mm.
/// Follows from the definition: one line of width `pitch` receives P / v per mm.
double dose_j_mm2(const Setting& setting, const Machine& machine);

/// True where the machine has no such limit.
bool within_dose_limit(const Machine& machine, const Setting& setting);

/// True when every dial of the machine accepts the setting and its dose is within the machine's limit.
bool accepts(const Machine& machine, const Setting& setting);

/// A dial's value as it is typed, never rounded: up to four decimals, as the history keeps them, without
/// trailing zeros ("33.75", "8.125").
std::string dial_text(double percent);

/// "60 % power, 40 % speed, 300 dpi" and, where not 100 % or 1, tone with screen, and passes.
std::string to_text(const Setting& setting);

}  // namespace frostcal::shop
