// A bottle that earlier grids burned on: what it bears, and by what it is laid as it lay then.
#pragma once

#include <string>
#include <vector>

#include "design/grid.hpp"
#include "sheet/burn_marks.hpp"
#include "sheet/standing_frame.hpp"
#include "shop/shop.hpp"

namespace frostcal::sheet {

struct ShelvedBottle {
  std::string name;
  std::vector<StandingBox> places;         // of the swatches that it bears
  std::vector<std::string> ids;            // of these, as engraved
  std::vector<std::vector<Point>> shapes;  // flag and centre mark in the standing frame
  bool flag_placed = false;
  CentreMark centre = CentreMark::none;
  std::vector<StandingBox> engraved;  // what everything else covers: ids, name, flag, centre mark
};

/// Those of the named bottles that `earlier` grids burned on, in the order of the names. Marks are placed
/// anew as they were when the earlier grids were drawn.
std::vector<ShelvedBottle> shelved_bottles(const shop::Shop& shop, const std::vector<std::string>& names,
                                           const std::vector<design::Grid>& earlier);

}  // namespace frostcal::sheet
