// The pages for the machine: nothing but what is burned, at 1:1, one page per burn.
//
// A page is as wide as the panel is long and as high as the bottle is round, laid as the bottle lies on the
// rotary, so that centring it on the machine is all the placing there is. Fills only: no outlines, no fonts.
#pragma once

#include <optional>
#include <vector>

#include "design/grid.hpp"
#include "sheet/burn_marks.hpp"
#include "sheet/burn_plan.hpp"
#include "sheet/drawing.hpp"
#include "sheet/shelved_bottle.hpp"
#include "shop/shop.hpp"

namespace frostcal::sheet {

/// One burn with everything decided: what the driver is told and what is drawn where.
struct BurnSheet {
  BurnPlan plan;
  BurnMarks marks;
  Page page;
  std::optional<ShelvedBottle> shelved;  // what its bottle bears from earlier grids
  double seconds = 0;                    // of burning, by drawn_seconds()
};

/// How long the machine takes for what is on a burn's page: fill after fill, every scan line on which the
/// fill occurs, from its first place on that line to its last at the fill's speed, and the turnaround. Moves
/// between places are not counted (a few seconds a burn).
double drawn_seconds(const Page& page, const BurnPlan& plan, const shop::Machine& machine);

/// One per burn, in order. Throws UserError when a swatch does not lie on the panel or overlaps another one
/// of its bottle, and as burn_plans() does.
std::vector<BurnSheet> burn_sheets(const shop::Shop& shop, const design::Grid& grid,
                                   const SheetOptions& options = {});

/// Of all burns together.
double burn_seconds(const std::vector<BurnSheet>& sheets);

/// The pages alone.
std::vector<Page> burn_pages(const std::vector<BurnSheet>& sheets);

}  // namespace frostcal::sheet
