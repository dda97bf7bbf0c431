// One hidden glass on one machine: what a strategy may burn and grade, and the truth it is judged by.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "simulator/grading.hpp"
#include "simulator/truth.hpp"

namespace frostcal::bench {

struct World {
  std::uint64_t seed = 0;
  bool tight = false;
  simulator::HiddenGlass glass;
  shop::Machine machine;
  shop::Acceptance bar;
  std::vector<shop::Setting> settings;  // all that the machine accepts
  simulator::BestSetting best;

  simulator::Grades burn(const shop::Setting& setting, const simulator::Occasion& occasion) const;
  double chance(const shop::Setting& setting) const;
  double loss(const shop::Setting& setting) const { return best.chance - chance(setting); }
};

/// 60 to 110 W, spot 0.08 to 0.20 mm, six dpi values, power and speed 5..100 % in steps of 1: 55,296
/// settings.
shop::Machine drawn_machine(std::uint64_t seed);

/// The glass of `glass_seed` on `machine`, tightened or not. The best setting is found by trying all of them.
World make_world(std::uint64_t glass_seed, const shop::Machine& machine, bool tight = false);

/// The setting of `machine` nearest to the wished one: each dial rounded to its step.
shop::Setting snapped(const shop::Machine& machine, double power_pct, double speed_pct, double dpi);

}  // namespace frostcal::bench
