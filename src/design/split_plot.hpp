// Optimal grids with dpi as a whole-plot factor: a burn has one dpi, and a shift of its own.
#pragma once

#include <cstdint>
#include <vector>

#include "design/exchange.hpp"
#include "design/grade_spread.hpp"
#include "design/planned_swatch.hpp"
#include "shop/machine.hpp"

namespace frostcal::design {

struct SplitPlotOptions {
  int swatches = 16;
  int burns = 4;    // whole plots
  int bottles = 2;  // burns take turns on them
  double inner = 0.8;
  Criterion criterion = Criterion::i;
  GradeSpread spread;
  int starts = 10;
  std::uint64_t seed = 1;
};

struct SplitPlot {
  std::vector<PlannedSwatch> swatches;  // each with its bottle
  std::vector<int> burn;                // of each swatch, from 0
  double log_det = 0;                   // log det(F' V^-1 F)
  double mean_variance = 0;             // trace((F' V^-1 F)^-1 W), grades squared
};

/// Swatches are shared evenly over the burns. Coordinate exchange on F' V^-1 F: every swatch's power, speed
/// and tone in turn, then every burn's dpi, until nothing improves (B. Jones and P. Goos, Appl. Statist. 56
/// (2007) 347-364; criterion of P. Goos and M. Vandebroek, Technometrics 45 (2003) 235-245). Two burns on one
/// bottle never have the same dpi, since they would be one burn. Throws UserError when dpi does not vary,
/// there are fewer swatches than terms, or more burns on a bottle than there are dpi.
SplitPlot split_plot(const shop::Machine& machine, const shop::Machine& allowed,
                     const SplitPlotOptions& options);

}  // namespace frostcal::design
