// What drawing a grid's sheets must know of the grids before it.
#pragma once

#include "design/grid.hpp"
#include "sheet/burn_plan.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"

namespace frostcal::choice {

/// Of grids with a lower number than `grid` only, so that a grid is timed and drawn alike when it is planned
/// and when it is drawn again. Marks are burned with what these grids of the glass and machine say can be
/// read best.
sheet::SheetOptions sheet_options(const shop::Shop& shop, const design::Grid& grid,
                                  const surface::ShopEvidence& evidence);

}  // namespace frostcal::choice
