// The most useful grid now: an opening grid where nothing is known of a glass, a smaller targeted one where
// something is, laid out on scrap bottles.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "choice/leaning.hpp"
#include "choice/targeted_grid.hpp"
#include "design/grid.hpp"
#include "sheet/burn_page.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::choice {

/// Twelves lose nothing against sixes by 36 swatches and take a third fewer burns (scripts/bench/loop).
inline constexpr int kTargetedSwatches = 12;
/// A time or a number of bottles buys no more swatches at once than this, a first grid half as many: what
/// they show places the next ones better.
inline constexpr int kMostAtOnce = 48;
inline constexpr int kMostSwatches = 500;  // of one grid, whoever asks for them
/// From this many graded swatches of the glass on a targeted grid confirms the best setting so far: with two
/// swatches in a grid of at least kSwatchesToConfirmTwice, with one in a smaller grid.
inline constexpr int kGradedToConfirm = 12;
inline constexpr int kSwatchesToConfirmTwice = 12;
inline constexpr int kMostDpiValues = 3;          // of an opening grid
inline constexpr int kMostTargetedDpiValues = 2;  // loses nothing against 3 and saves a fifth of the burns

/// What a grid may cost at most; 0 = no bound.
struct Spending {
  double seconds = 0;  // of burning
  int swatches = 0;
  int bottles = 0;  // new or shelved
  double set_aside_seconds =
      0;  // of `seconds`: for ids, marks and whatever else is not a swatch's own raster
  double seconds_for_swatches() const { return seconds - set_aside_seconds; }
  bool any() const { return seconds > 0 || swatches > 0 || bottles > 0; }
};

/// What the user asked for; an empty or zero member leaves the choice to us.
struct GridRequest {
  std::string glass;
  std::string machine;
  std::string vessel;
  std::string design;  // empty, or a name of section "designs" of the README
  int swatches = 0;
  int bottles = 0;
  bool new_bottle = false;
  std::optional<std::pair<double, double>> power_pct;
  std::optional<std::pair<double, double>> speed_pct;
  std::optional<std::pair<double, double>> tone_pct;
  std::vector<int> dpi;
  std::pair<int, int> levels{6, 6};  // of a lattice: power x speed
  double swatch_mm = 8;
  Spending spend;
  std::uint64_t seed = 1;
  bool reference = false;                 // add a reference swatch
  std::optional<shop::Setting> in_force;  // for the reference; nothing = none in force
};

struct PlannedGrid {
  design::Grid grid;
  std::string reason;                    // why this design and size, one sentence
  std::vector<sheet::BurnSheet> sheets;  // as drawn
  double burn_seconds = 0;               // of these
  bool targeted = false;
  TargetedGrid expectation;  // of a targeted grid
  bool stop = false;         // not worth its bottle, or no setting will do
  Leaning leaning;           // on other glasses, at the settings of a targeted grid
  std::string reference;     // of the reference swatch: where its setting comes from
  bool held_back = false;    // more was allowed than is worth burning at once
  int wanted = 0;            // swatches asked for or usual, where there are fewer, and why there are
  std::string fewer_because;
};

/// Plans without writing anything. `surfaces` is the fit of `evidence`. `now` is 2026-11-25T11:14:05Z.
///
/// A targeted, spread or optimal grid uses what may be spent: as many swatches as were allowed; otherwise as
/// many as the time and the places on the bottles allow, up to kMostAtOnce. It is spread over the bottles
/// allowed where each gets at least six. The published designs have a size of their own.
///
/// Throws UserError when a name, range or dpi is not the shop's, the swatches don't fit, or less may be spent
/// than the design needs. `progress` counts the swatches of a targeted grid.
PlannedGrid plan_grid(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                      const surface::ShopSurface& surfaces, const GridRequest& given, const std::string& now,
                      const Progress& progress = {});

/// The machine with its dials narrowed to the request. Throws UserError when nothing is left.
shop::Machine narrowed(const shop::Machine& machine, const GridRequest& request);

}  // namespace frostcal::choice
