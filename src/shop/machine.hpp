// A laser with its lens and its rotary: what can be dialled in, and what it delivers.
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace frostcal::shop {

/// Values of a dial in percent that lie no further apart are the same one: older files keep two decimals, and
/// no dial has steps under 0.1.
inline constexpr double kSameDial = 0.006;

/// The values min, min + step, ... up to max that a dial accepts.
struct SteppedRange {
  double min = 0;
  double max = 0;
  double step = 1;

  /// All values, ascending. A range of one value (min == max) has one.
  std::vector<double> values() const;
  /// True when `value` is one of values(), to within kSameDial.
  bool accepts(double value) const;
  /// The one of values() that an accepted value stands for.
  double dialled(double value) const;
  /// How many steps lie between the first and the last of them.
  double steps() const;
  /// The one of values() that is nearest, in ratio, to the wished value (positive).
  double nearest(double wished) const;
};

enum class RotaryKind { roller, chuck };  // roller: surface speed is driven; chuck: angle is driven
enum class Side { left, right };          // where the neck points, seen from the operator's side
/// "left" or "right", as shop.toml has it.
std::string to_text(Side side);

struct Rotary {
  RotaryKind kind = RotaryKind::roller;
  Side neck = Side::left;
  double max_length_mm = 300;
};

struct Machine {
  std::string name;
  double rated_power_w = 0;
  double top_speed_mm_s = 0;       // scan speed at 100 %
  double spot_mm = 0.1;            // 1/e^2 diameter
  double depth_of_focus_mm = 1.0;  // how far the glass may lie from focus, either way
  std::vector<int> dpi;            // ascending
  SteppedRange power_pct;
  SteppedRange speed_pct;
  SteppedRange tone_pct{100, 100, 10};
  std::vector<std::string> screens;  // never empty; the first is the default
  int recipes_per_burn = 16;
  std::vector<std::string> fills;  // the driver's own colours, "#RRGGBB"; empty = our palette
  double turnaround_s = 0.05;      // time lost at the end of each scan line
  double dose_limit_j_mm2 = 0;     // 0 = none
  std::vector<std::pair<double, double>> measured_power_w;  // (power %, W), ascending; empty = proportional
  Rotary rotary;

  /// W delivered at a power setting in percent: rated * p / 100, or the measured curve, linear between its
  /// points and proportional below the first.
  double delivered_power_w(double power_pct_value) const;
  /// How many fills can have a setting of their own in one send: recipes_per_burn, or fewer own fills.
  int most_recipes() const;
  /// mm/s at a speed setting in percent.
  double scan_speed_mm_s(double speed_pct_value) const { return top_speed_mm_s * speed_pct_value / 100.0; }
};

}  // namespace frostcal::shop
