// The classical second-order surface of a number that was seen on each swatch, over the settings that were
// burned.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "shop/setting.hpp"
#include "surface/classical_surface.hpp"
#include "surface/shop_observations.hpp"

namespace frostcal::surface {

/// One swatch: what it was burned with, the grid it belongs to, and the number.
struct SettingResponse {
  shop::Setting setting;
  std::string grid;
  double value = 0;
};

/// Mean frost grade over the graders of each swatch of the glass on the machine.
std::vector<SettingResponse> mean_frost(const ShopEvidence& evidence, const std::string& glass,
                                        const std::string& machine);

struct SettingSurface {
  std::vector<std::string> factors;  // power_pct, speed_pct, dpi, tone_pct, passes: those that were varied
  std::vector<std::string> grids;    // blocks, when there is more than one
  Coding coding;                     // each factor over the range that was burned
  ClassicalFit fit;
  std::vector<std::string> left_out;  // terms of the second-order model that the settings cannot tell apart
  CanonicalAnalysis canonical;
  Eigen::VectorXd stationary_setting;  // natural units, by factor; empty when canonical.exists is false
  double at_stationary = 0;            // predicted there, in the first grid
  bool within_burned = false;          // the stationary point is inside the ranges that were burned
};

/// Least squares in coded units, with a shift of the mean for each grid after the first. Factors of two
/// levels get no square; where the swatches do not suffice for the rest with a degree of freedom to spare,
/// squares and then interactions are left out. Nothing when no factor was varied or not even the slopes can
/// be told apart.
std::optional<SettingSurface> fit_settings(const std::vector<SettingResponse>& seen);

}  // namespace frostcal::surface
