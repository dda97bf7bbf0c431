// Published second-order designs on the machine's own dials.
#pragma once

#include <vector>

#include "design/coded_design.hpp"
#include "design/planned_swatch.hpp"
#include "shop/machine.hpp"

namespace frostcal::design {

/// Central composite design in the log coordinates of the dials that vary (2 to 4 of power, speed, dpi,
/// tone), with the published number of centre points; copies of the centre have the role repeat. Every point
/// lies within the ranges of `allowed`: where a design reaches beyond the cube (rotatable), its axial points
/// are put at the ends of the ranges, so on dials it is the inscribed one. Points above the dose limit are
/// left out. Where the dials offer fewer values than the design has levels, levels share the nearest value,
/// but at least three differ; with only two dpi the design of the other factors is laid out at each of them.
/// Throws UserError when the number of factors is not 2 to 4, or a dial has too few values.
std::vector<PlannedSwatch> composite_swatches(const shop::Machine& machine, const shop::Machine& allowed,
                                              Composite kind);

/// Box-Behnken design; 3 or 4 factors, three levels each. Otherwise as composite_swatches().
std::vector<PlannedSwatch> box_behnken_swatches(const shop::Machine& machine, const shop::Machine& allowed);

}  // namespace frostcal::design
