// What a taper does to each swatch, for the run sheet.
#pragma once

#include "design/grid.hpp"
#include "sheet/paper_flow.hpp"
#include "shop/shop.hpp"

namespace frostcal::sheet {

/// Dose, line pitch and distance from focus of every swatch, those out of the depth of focus starred. Draws
/// nothing on a straight wall.
void draw_taper(PaperFlow& flow, const shop::Shop& shop, const design::Grid& grid);

}  // namespace frostcal::sheet
