// Where the ids and the bottle's marks find room beside the swatches.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "design/grid.hpp"
#include "sheet/burn_plan.hpp"
#include "sheet/standing_frame.hpp"

namespace frostcal::sheet {

/// Text that reads upright on the standing bottle; `box` is what it covers.
struct PlacedText {
  std::string text;
  double height_mm = 0;
  StandingBox box;
  std::string mark;
};

/// How the panel's centre is marked; `line` where only one of the two ticks found room.
enum class CentreMark { none, cross, line, lines };

/// All that one burn engraves besides swatches. A label stands under its swatch (towards the base), else
/// above or beside it, 2.5 mm high where there is room and at least 1.2 mm, 0.6 mm from its swatch and 0.4 mm
/// from all else. The flag is a pole with a pennant at its top right: its top points to the neck and, not
/// being its own mirror image, it cannot be mistaken from behind the glass. The centre mark is a cross on the
/// panel's centre, else ticks on the two ends of what the laser reaches of the panel. On a bottle that an
/// earlier grid marked, ids carry the grid's number ("7-B2"), since ids are only unique within a grid.
struct BurnMarks {
  std::vector<PlacedText> texts;
  std::vector<std::vector<Point>> shapes;  // flag and centre mark in the standing frame
  std::vector<std::string> shape_names;
  std::vector<StandingBox> boxes;       // of everything engraved
  std::vector<std::string> unlabelled;  // ids that found no room: the map on the run sheet tells them
  // Of the burn that names its bottle:
  bool flag_placed = false;
  bool name_placed = false;
  CentreMark centre = CentreMark::none;
};

/// The marks of each of `plans`, in order. `swatches` are the places of the grid's swatches in its order;
/// `engraved` is what each bottle bears already, kept clear, and the marks are added to it.
std::vector<BurnMarks> place_marks(const design::Grid& grid, const std::vector<BurnPlan>& plans,
                                   const StandingFrame& frame, const std::vector<StandingBox>& swatches,
                                   std::map<std::string, std::vector<StandingBox>>& engraved);

}  // namespace frostcal::sheet
