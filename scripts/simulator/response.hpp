// How a hidden glass answers a setting: the mean look of frost and chipping on the continuous grade scales.
#pragma once

#include "simulator/hidden_glass.hpp"

namespace frostcal::simulator {

/// A setting at the glass.
struct Exposure {
  double power_w = 0;  // delivered
  double speed_mm_s = 0;
  double pitch_mm = 0;
  double spot_mm = 0.1;  // nominal 1/e^2 diameter
  double tone = 1;       // share of the fill that is black
  int passes = 1;
};

struct Look {
  double frost = 0;
  double chipping = 0;
};

/// Frost: the lines mark where the beam's profile exceeds the onset index, width 2 sigma sqrt(2 ln(peak /
/// onset)) and a halo; marked share 1 - exp(-1.6 (width / pitch)^2); crack density 1 - exp(-(dose /
/// saturation)^1.3); above the melt ratio, or where lines overlap too much, frost fires smooth again. Frost
/// is the densest grade times (share * density * unmelted)^0.8, less the grades that line ripple and haste
/// cost. Chipping: three thresholds (areal dose, heated depth, peak index) joined by a smooth maximum, then
/// floor + rate * ln(1 + e^x). All forms are ours and deliberately unlike a polynomial in logs; the
/// ingredients are those of heat_index.hpp. Tone spreads the dots: ripple counts at pitch / sqrt(tone).
Look mean_look(const HiddenGlass& glass, const Exposure& exposure);

}  // namespace frostcal::simulator
