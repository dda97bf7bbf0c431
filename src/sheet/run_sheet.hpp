// The sheet for the person at the machine: what to do, what to type, where each swatch is, what to look for.
#pragma once

#include <string>
#include <vector>

#include "design/grid.hpp"
#include "sheet/burn_page.hpp"
#include "shop/shop.hpp"

namespace frostcal::sheet {

/// Checklist and cautions, the table of what to type, the taper's effects where there is one, a map as the
/// bottle stands, and a grading form without settings, so that grades are not swayed by them. One page where
/// it fits, with a line to fold the settings away; more when there are many recipes or swatches.
std::vector<Page> run_sheet(const shop::Shop& shop, const design::Grid& grid,
                            const std::vector<BurnSheet>& sheets);

}  // namespace frostcal::sheet
