// Names of swatches: a letter for the row, a number for the place in it.
#pragma once

#include <vector>

#include "design/placement.hpp"

namespace frostcal::design {

/// Sorts the swatches of a new grid by bottle, row (from the top of the page) and place (from the neck) and
/// names them in that order. See place_swatches() for the letters. Every swatch's bottle must be one of
/// `bottles`.
void give_ids(std::vector<Swatch>& swatches, const std::vector<ScrapBottle>& bottles);

}  // namespace frostcal::design
