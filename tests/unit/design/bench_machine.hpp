// The machine of the design tests.
#pragma once

#include "shop/machine.hpp"

namespace frostcal::design::test {

inline shop::Machine bench() {
  shop::Machine machine;
  machine.name = "bench";
  machine.rated_power_w = 60;
  machine.top_speed_mm_s = 1200;
  machine.dpi = {200, 250, 300, 400, 500, 600};
  machine.power_pct = {5, 100, 1};
  machine.speed_pct = {5, 100, 1};
  machine.screens = {"stucki"};
  return machine;
}

}  // namespace frostcal::design::test
