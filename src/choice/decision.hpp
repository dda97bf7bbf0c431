// What is decided for one glass on one machine, and how sure that is.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "shop/setting.hpp"

namespace frostcal::choice {

/// A setting with all that is said about it.
struct Decision {
  shop::Setting setting;
  double chance = 0;         // probability that a new bottle is acceptable
  double chance_low = 0;     // 5 % quantile of that probability
  double chance_high = 0;    // 95 % quantile
  double tolerance_pct = 0;  // power may drift this much either way before the chance falls under target
  double speed_tolerance_pct = 0;  // the same for speed
  double seconds_per_cm2 = 0;      // for a mark 40 mm along the axis and 25 mm round the bottle
  bool beyond_tried = false;       // more than half its log-width outside the range that was tried
};

enum class LimitingCause { nothing, frost, chipping, bottle_spread, few_swatches };

/// The answer of `fit` for one glass on one machine.
struct GlassChoice {
  std::string glass;
  std::string machine;
  int swatches = 0;       // graded swatches of grids
  int bottles = 0;        // that those are on
  int pieces = 0;         // customers' pieces that were logged and count, beside the swatches
  std::string set_aside;  // those that don't: "8 pieces set aside: lens cleaned on 2026-11-05"; may be empty
  std::vector<std::string> grids;
  std::vector<std::string> known_on;   // other machines that this glass is graded on, where it is not here
  std::optional<Decision> best;        // nothing when there are no grades and no prior worth a setting
  std::vector<Decision> alternatives;  // distinct from best and from each other
  std::optional<Decision> faster;  // takes at most 2/3 of best's time, where one is as good within the margin
  LimitingCause limited_by = LimitingCause::nothing;
  bool fits = true;                     // the model agrees with the grades
  bool stop = false;                    // another grid is not worth its bottle
  bool out_of_reach = false;            // hardly any plausible surface has a setting that meets the target
  std::optional<double> expected_gain;  // of chance by the next grid, where one was planned
  std::vector<std::string> findings;    // sentences with swatch ids
};

}  // namespace frostcal::choice
