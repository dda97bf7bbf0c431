// The true chance behind the simulation: what a perfect tool would know.
#pragma once

#include <vector>

#include "shop/setting.hpp"
#include "shop/shop.hpp"
#include "simulator/response.hpp"

namespace frostcal::simulator {

/// Exposure of a setting on a machine. `pitch_scale` is local over nominal diameter (1 on a straight wall).
Exposure exposure_of(const shop::Machine& machine, const shop::Setting& setting, double pitch_scale = 1.0);

/// Chance that a new bottle, burned on another day at this exposure, is acceptable as the same grader judges
/// it: frost >= bar and chipping <= bar. Day, bottle and run-out act on ln(power) (quadrature over their sum,
/// 17 equally spaced nodes on +-4 sd), everything else is normal and exact. Slips of the pen don't count.
double true_chance(const HiddenGlass& glass, const Exposure& exposure, const shop::Acceptance& bar);

/// Every setting the machine accepts with its first screen and one pass, dose limit observed.
std::vector<shop::Setting> all_settings(const shop::Machine& machine);

struct BestSetting {
  shop::Setting setting;
  double chance = 0;
};
/// The best of `settings` (the first of equals).
BestSetting best_setting(const HiddenGlass& glass, const shop::Machine& machine,
                         const std::vector<shop::Setting>& settings, const shop::Acceptance& bar);

}  // namespace frostcal::simulator
