// Places on the bottle for a list of settings: burns, positions and ids.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "design/planned_swatch.hpp"
#include "shop/shop.hpp"
#include "shop/vessel_wall.hpp"

namespace frostcal::design {

/// Kept clear between what is engraved (ids, name, flag, centre mark) and everything else, mm.
inline constexpr double kFromMarks = 0.4;

inline constexpr double kLeastSwatch = 2;  // side, mm: a smaller one can't be graded by eye

/// A bottle to burn on, and what earlier grids left on it, where the machine now has it.
struct ScrapBottle {
  std::string name;
  std::vector<Swatch> taken;
  std::vector<shop::WallArea> engraved{};  // ids, name, flag and centre mark
};

struct PlacementOptions {
  double swatch_mm = 8;  // square
  double gap_mm = 4;     // between swatches, on the glass; the id stands in it
  shop::WallMargins margins;
  std::uint64_t seed = 1;
  shop::LengthUnit units = shop::LengthUnit::mm;  // of lengths in words
};

/// How many swatches of that size a bottle without any would take, and one with what it bears.
int bottle_capacity(const shop::Machine& machine, const shop::Vessel& vessel, const PlacementOptions& options,
                    const ScrapBottle& bottle = {});

/// Deals the swatches to the bottles: sorted by dpi and dose they are cut into groups of one swatch per
/// bottle and each group is shuffled, so each bottle gets its share of every dpi, of hot and mild alike, and
/// repeats of one setting lie on different bottles; of up to 40 such deals the first in which bottles explain
/// no more than kMostBottleShare of the variance of ln power and of ln speed is taken, else the one in which
/// they explain least. Makes burns (one bottle, one dpi, at most the machine's
/// recipes; where that takes several burns each gets a like share of all doses). Gives each swatch a random
/// free place, so that no setting goes with a place and neighbours are not both hot: see scattered().
///
/// Ids are a letter for the row (round the bottle) and a number for the place in it (along the axis), counted
/// over the whole grid, with letters that the bottles don't bear yet as long as there are any; the result is
/// in the order in which the eye meets the swatches. Throws UserError when they don't fit, saying how many
/// would.
std::vector<Swatch> place_swatches(const std::vector<PlannedSwatch>& planned,
                                   const std::vector<ScrapBottle>& bottles, const shop::Machine& machine,
                                   const shop::Vessel& vessel, const PlacementOptions& options);

}  // namespace frostcal::design
