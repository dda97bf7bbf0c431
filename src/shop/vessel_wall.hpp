// The unrolled wall of a vessel: where on it a swatch may lie.
#pragma once

#include <vector>

#include "shop/shop.hpp"

namespace frostcal::shop {

/// A rectangle in the grid's frame: x along the axis from the panel's centre (positive towards the base), y
/// round the circumference from the middle between the first two mould seams, by angle: mm at the panel's
/// centre, as on the page.
struct WallArea {
  double x_low = 0;
  double x_high = 0;
  double y_low = 0;
  double y_high = 0;
};

struct WallMargins {
  double seam_mm = 3;   // kept clear on either side of a mould seam
  double edge_mm = 2;   // at the panel's ends and, without seams, where the wall closes on itself
  double marks_mm = 8;  // strip at the neck end for the bottle's name and its orientation mark
};

/// Free areas of the panel, the middle one (y = 0 inside it) first, then alternately to either side. One per
/// space between seams, the one across the back in two parts; the whole round without seams. On a taper the
/// margins are kept on the glass at the smallest diameter under the areas. No longer than the rotary takes.
/// Empty when the margins leave nothing.
std::vector<WallArea> free_areas(const Vessel& vessel, const Machine& machine,
                                 const WallMargins& margins = {});

}  // namespace frostcal::shop
