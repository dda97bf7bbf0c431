// How much a grid can teach, before it is burned: for comparing designs.
#pragma once

#include <string>
#include <vector>

#include "design/dial_region.hpp"
#include "design/grade_spread.hpp"
#include "design/grid.hpp"
#include "shop/machine.hpp"

namespace frostcal::design {

/// Figures for the quadratic in the region's factors, grades scattering as GradeSpread says, burns and
/// bottles as placed (generalised least squares).
struct Evaluation {
  int terms = 0;
  bool estimable = false;       // false: the grid can't tell all terms apart; the figures are then 0
  std::string lacking;          // why not, as "dpi at one value only"
  double d_per_swatch = 0;      // det(F' V^-1 F)^(1/p) / n
  double mean_variance = 0;     // of a predicted grade, averaged over the region; grades squared
  double largest_variance = 0;  // the same, at the worst place of the region
  /// Chance that a change by one grade from one end to the other of a factor's range, the other factors in
  /// the middle, shows as a two-sided 5 % finding (normal, scatter known); for the factor that is seen worst.
  double power = 0;
  std::string power_factor;  // that factor; empty when none varies
};

Evaluation evaluate(const std::vector<Swatch>& swatches, const DialRegion& region,
                    const GradeSpread& spread = {});

/// One line of the table that `plan --compare` shows.
struct ComparedDesign {
  std::string design;
  int swatches = 0;
  int bottles = 0;
  int burns = 0;
  int recipes = 0;
  double burn_seconds = 0;  // left to who draws the sheets
  Evaluation evaluation;
  double d_efficiency = 0;  // per swatch, relative to the best of those compared: 0..1
  double i_efficiency = 0;  // of 1 / (swatches * mean_variance), likewise
  double reach = 1;         // share of the log range of power or speed, whichever is covered less
};

/// The region is that of `allowed`, in the inner share of its log ranges.
std::vector<ComparedDesign> compare_grids(const std::vector<Grid>& grids, const shop::Machine& machine,
                                          const shop::Machine& allowed, double inner = 0.8);

}  // namespace frostcal::design
