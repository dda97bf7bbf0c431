// The standing bottle's panel, unrolled, with the place and id of each swatch, the marks that are engraved
// and what earlier grids burned.
#pragma once

#include <string>
#include <vector>

#include "design/grid.hpp"
#include "sheet/burn_page.hpp"
#include "sheet/standing_frame.hpp"
#include "shop/shop.hpp"

namespace frostcal::sheet {

/// What a map shows of one bottle. Settings are not on it.
struct BottleMap {
  std::string bottle;
  StandingFrame frame;
  StandingBox shown;  // part of the panel: its whole height, as far round as there is something to see
  std::vector<StandingBox> places;
  std::vector<std::string> ids;
  std::vector<bool> flagged;  // out of focus on a taper
  std::vector<StandingBox> older_places;
  std::vector<std::string> older_ids;     // as engraved
  std::vector<std::vector<Point>> marks;  // flag and centre mark, standing frame
  bool marks_are_older = false;           // burned by an earlier grid
  std::vector<double> seams_u;
};

/// One per bottle, in order of first burn.
std::vector<BottleMap> bottle_maps(const shop::Machine& machine, const shop::Vessel& vessel,
                                   const design::Grid& grid, const std::vector<BurnSheet>& sheets);

double map_width_mm(const BottleMap& map, double scale);
/// With the bottle's name, which may be wider.
double map_block_width_mm(const BottleMap& map, double scale);
double map_height_mm(const BottleMap& map, double scale);  // with its captions

/// Draws the map with its top left corner at (x, y).
void draw_map(Page& page, const BottleMap& map, double x_mm, double y_mm, double scale);

}  // namespace frostcal::sheet
