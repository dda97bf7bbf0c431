// A setting to burn that has no place yet.
#pragma once

#include <vector>

#include "design/grid.hpp"
#include "shop/setting.hpp"

namespace frostcal::design {

inline constexpr int kAnyBottle = -1;

struct PlannedSwatch {
  shop::Setting setting;
  Role role = Role::design;
  int bottle = kAnyBottle;  // index of the bottle that it must lie on, where the design fixes it
};

/// One for each setting: the first of its kind has the role design, later copies repeat.
std::vector<PlannedSwatch> with_repeats_marked(const std::vector<shop::Setting>& settings);

}  // namespace frostcal::design
