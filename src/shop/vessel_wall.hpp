// The unrolled wall of a vessel: where on it a swatch may lie.
#pragma once

#include <vector>

#include "shop/shop.hpp"

namespace frostcal::shop {

/// A rectangle in the grid's frame: x along the axis from the panel's centre (positive towards the base), y
/// round the circumference from the middle between the first two mould seams. mm.
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
/// space between seams, the one across the back in two parts; the whole round without seams. y is counted at
/// the panel's centre, widths are those of the smallest diameter, so that nothing overlaps on a taper. No
/// longer than the rotary takes. Empty when the margins leave nothing.
std::vector<WallArea> free_areas(const Vessel& vessel, const Machine& machine,
                                 const WallMargins& margins = {});

}  // namespace frostcal::shop
