// What a grid's plan names, looked up in the shop as it is now.
#pragma once

#include "design/grid.hpp"
#include "shop/shop.hpp"

namespace frostcal::design {

/// Throw UserError with the place of the name in grid.toml when shop.toml no longer has it.
const shop::Machine& machine_of(const shop::Shop& shop, const Grid& grid);
/// The same with its rotary as it held the grid's bottles (neck_side).
shop::Machine machine_as_planned(const shop::Shop& shop, const Grid& grid);
const shop::Vessel& vessel_of(const shop::Shop& shop, const Grid& grid);

}  // namespace frostcal::design
