// Which bottle and which burn each planned swatch goes to.
#pragma once

#include <cstddef>
#include <vector>

#include "design/placement.hpp"
#include "design/planned_swatch.hpp"
#include "numerics/random_engine.hpp"
#include "shop/machine.hpp"

namespace frostcal::design {

struct BottleShare {
  std::size_t planned = 0;  // index of the planned swatch
  std::size_t bottle = 0;
  int burn = 0;  // counts from 1
};

/// Bottles explain no more than this share of the variance of ln power or of ln speed where a deal allows it:
/// a correlation of 0.3 between two bottles. A judgement.
inline constexpr double kMostBottleShare = 0.09;

/// One for each planned swatch, in the order of dpi and dose. `room` is how many swatches each bottle takes;
/// their sum must be enough. See place_swatches() for the rules. A fixed bottle that is full is not held to.
std::vector<BottleShare> share_out(const std::vector<PlannedSwatch>& planned,
                                   const std::vector<std::size_t>& room, const shop::Machine& machine,
                                   numerics::RandomEngine& random);

}  // namespace frostcal::design
