// The classical second-order surface of a number that was seen on each swatch, over the settings that were
// burned.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "numerics/variance_components.hpp"
#include "shop/setting.hpp"
#include "surface/classical_surface.hpp"
#include "surface/shop_observations.hpp"

namespace frostcal::surface {

/// One swatch: what it was burned with, the grid, bottle and burn it belongs to, and the number. burn counts
/// within the grid.
struct SettingResponse {
  shop::Setting setting;
  std::string grid;
  std::string bottle;
  int burn = 1;
  double value = 0;
};

/// Mean frost grade over the graders of each swatch of the glass on the machine.
std::vector<SettingResponse> mean_frost(const ShopEvidence& evidence, const std::string& glass,
                                        const std::string& machine);

/// The same terms with random effects of bottle and burn in place of the grids' shifts (split plot). What is
/// set once per burn, such as dpi, is then judged by burns and not by swatches, of which there are many more.
struct SplitPlot {
  std::vector<std::string> terms;           // intercept, then the terms of the least-squares fit
  std::vector<std::string> random_effects;  // of reml.variances: "bottle" where it can be told, "burn"
  numerics::RemlFit reml;                   // converged
};

struct SettingSurface {
  std::vector<std::string> factors;  // power_pct, speed_pct, dpi, tone_pct, passes: those that were varied
  std::vector<std::string> grids;    // blocks, when there is more than one
  Coding coding;                     // each factor over the range that was burned
  ClassicalFit fit;
  std::vector<std::string> left_out;  // terms of the second-order model that the settings cannot tell apart
  CanonicalAnalysis canonical;
  Eigen::VectorXd stationary_setting;   // natural units, by factor; empty when canonical.exists is false
  double at_stationary = 0;             // predicted there, in the first grid
  bool within_burned = false;           // the stationary point is inside the ranges that were burned
  std::vector<RidgePoint> ridge;        // highest at radius 0, 0.25, .. 1 from the middle of what was burned
  std::optional<SplitPlot> split_plot;  // where there are burns enough
};

/// Least squares in coded units, with a shift of the mean for each grid after the first. Factors of two
/// levels get no square; where the swatches do not suffice for the rest with a degree of freedom to spare,
/// squares and then interactions are left out. Nothing when no factor was varied or not even the slopes can
/// be told apart.
std::optional<SettingSurface> fit_settings(const std::vector<SettingResponse>& seen);

/// data.coded and data.y as the fit was made from, one row per entry of `seen`. Nothing when there are too
/// few burns (fewer than two beyond what the terms that are the same all over each burn use up), no more
/// swatches than burns, or REML does not converge. Bottles count as an effect only where that many burns are
/// left for them too.
std::optional<SplitPlot> fit_split_plot(const std::vector<SettingResponse>& seen, const ClassicalData& data,
                                        const ClassicalFit& fit);

}  // namespace frostcal::surface
