// What one burn asks of the driver: which fill means which recipe, and which swatches carry it.
#pragma once

#include <functional>
#include <set>
#include <string>
#include <vector>

#include "design/grid.hpp"
#include "sheet/drawing.hpp"
#include "shop/shop.hpp"

namespace frostcal::sheet {

struct SheetOptions {
  /// Turn tone into dots ourselves, at the burn's dpi, instead of leaving a grey to the driver.
  bool screen_here = false;
  /// Earlier grids, in order: what they burned and engraved on bottles of this one is kept clear, and those
  /// bottles carry their name, centre and orientation marks already.
  std::vector<design::Grid> earlier;
  /// How probable it is that a mark burned so can be read; empty where nothing is known of the glass.
  std::function<double(const shop::Setting&)> readable;
};

/// One row to type at the machine. Rows of one power, speed and passes share their fill and differ by tone.
struct RecipeFill {
  int number = 0;  // counts from 1 within the burn
  shop::Setting setting;
  Ink ink;
  bool dots_here = false;  // the tone is drawn as dots in this fill: the driver must not screen again
  bool marks = false;      // ids and marks are drawn with this fill
  std::vector<std::string> swatches;
};

struct BurnPlan {
  int burn = 0;
  std::string bottle;
  int dpi = 0;
  std::vector<RecipeFill> fills;
  std::vector<std::size_t> swatches;  // indices into grid.swatches, in the grid's order
  std::vector<int> fill_of;           // for each of `swatches`, the index into `fills`
  Ink mark_ink;
  bool older_bottle = false;  // marked by an earlier grid
  bool names_bottle = false;  // name, grid number, centre and orientation marks are engraved in this burn

  const RecipeFill& fill_for(std::size_t i) const { return fills[static_cast<std::size_t>(fill_of[i])]; }
};

/// One plan per burn, ascending, without fills. `marked` are the bottles that earlier grids marked.
std::vector<BurnPlan> burns_of(const design::Grid& grid, const std::set<std::string>& marked);

/// The same with fills. Ids and marks are drawn solid, with the recipe that surely leaves a mark: the
/// fastest of those that `readable` puts at 0.95 or more, else of those within 0.02 of the highest; where
/// nothing is known, the highest in dose times heat (power over the root of speed). A chip hardly spoils a
/// mark. Recipes that would break the machine's dose limit where they burn solid are the last choice. A burn
/// with one recipe is drawn in grey at its tone (solid = black), and its marks in black on a row of their
/// own, or in its darkest grey where the dose limit forbids black; a burn with several takes the machine's
/// own fills, else recipe_inks(), and draws tones below 100 % as dots. Throws UserError when a burn has more
/// recipes than the machine or its fills can tell apart, mixes dpi or bottles, or asks for dots of a screen
/// we do not know.
std::vector<BurnPlan> burn_plans(const shop::Shop& shop, const design::Grid& grid,
                                 const SheetOptions& options);

/// The grid's swatches.csv as messages name it.
std::string swatches_file(const shop::Shop& shop, const design::Grid& grid);

/// "B2", or "7-B2" on a bottle that an earlier grid marked: ids are only unique within a grid.
std::string engraved_id(const design::Grid& grid, const BurnPlan& plan, const std::string& id);

}  // namespace frostcal::sheet
