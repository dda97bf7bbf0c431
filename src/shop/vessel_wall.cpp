#include "shop/vessel_wall.hpp"

#include <algorithm>

#include "numerics/pi.hpp"

namespace frostcal::shop {

std::vector<WallArea> free_areas(const Vessel& vessel, const Machine& machine, const WallMargins& margins) {
  const double length = std::min(vessel.panel_mm, machine.rotary.max_length_mm);
  const double girth = numerics::kPi * vessel.diameter_mm(0);
  const int spaces = std::max(1, vessel.seams);
  const double clear = vessel.seams > 0 ? margins.seam_mm : margins.edge_mm;
  const double x_low = -length / 2 + margins.edge_mm + margins.marks_mm;
  const double x_high = length / 2 - margins.edge_mm;
  std::vector<WallArea> areas;
  if (x_high <= x_low) return areas;
  const double stretch = std::max(vessel.page_stretch(x_low), vessel.page_stretch(x_high));
  const double half = girth / spaces / 2 - clear * stretch;
  if (half <= 0) return areas;
  for (int i = 0; i < spaces; ++i) {
    // 0, +1, -1, +2, -2 ... spaces from the middle one.
    const int offset = i % 2 == 1 ? (i + 1) / 2 : -i / 2;
    const double middle = offset * girth / spaces;
    // The page ends opposite its middle: a space that lies across that line is used in two parts.
    const double edge = girth / 2 - margins.edge_mm * stretch;
    if (middle + half <= edge) {
      areas.push_back({x_low, x_high, middle - half, middle + half});
      continue;
    }
    areas.push_back({x_low, x_high, middle - half, edge});
    if (middle + half - girth > -edge) areas.push_back({x_low, x_high, -edge, middle + half - girth});
  }
  return areas;
}

}  // namespace frostcal::shop
