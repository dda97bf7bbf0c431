// What in a glass's grades does not go with its fitted surface, as numbers and swatch ids; the wording is
// elsewhere.
#pragma once

#include <string>
#include <vector>

#include "surface/glass_surface.hpp"
#include "surface/observation.hpp"

namespace frostcal::surface {

enum class FindingKind {
  swatch_disagrees,      // one grade far from what the others lead to expect
  later_bottles_differ,  // the newest bottles are off together (later_bottles.hpp)
  promise_broken,        // all failed where the earlier grids gave a high chance (glass_change.hpp)
  later_bottles_power,   // the later bottles want another power, as another kind of glass would
  bottle_differs,        // a bottle's effect is clear of 0
  grader_differs,        // a grader's effect is clear of 0
  glass_changed,         // the newest grid behaves as if burned with another power
  position_trend,        // residuals go up or down along the bottle or round it
  responses_associated,  // frost and chipping residuals go together, so their chances don't simply multiply
  lack_of_fit            // grades are less predictable than the model believes
};

struct Finding {
  FindingKind kind = FindingKind::swatch_disagrees;
  Response response = Response::frost;  // frost for responses_associated
  /// Bottle or bottles (promise_broken: those that failed), grader, grid, "x" / "y" for position_trend, "all"
  /// / "near" for lack_of_fit.
  std::string subject;
  /// swatch_disagrees: grade less its expectation; bottle_differs, grader_differs: effect in grades;
  /// later_bottles_differ: their mean effect in grades; later_bottles_power: change of ln power;
  /// glass_changed: offset in ln power; promise_broken: the chance that was given;
  /// position_trend, responses_associated: correlation; lack_of_fit: excess in standard deviations
  /// (lack_of_fit.hpp).
  double size = 0;
  double p_value = 1;  // two-sided, of `size` if the model held (lack_of_fit: one-sided, as if normal)
  std::vector<std::string> swatches;  // pieces too (kPieceId); those concerned: the swatch, all of the bottle
                                      // or grader, a neighbourhood
};

/// All findings, by kind in the order of FindingKind. Observations of other glasses are passed over. A swatch
/// disagrees at p < 0.05 / swatches (Bonferroni); effects need |mean| over 2.5 posterior sd,
/// a changed glass 3 and 5 % of power; correlations p <
/// 0.01 by Fisher's z and at least 10 swatches; lack of fit over 2.5 standard deviations of all grades or 4.5
/// of a neighbourhood, and at least 12 swatches. These limits are ours.
std::vector<Finding> diagnose(const GlassSurface& surface, const std::vector<Observation>& observations);

}  // namespace frostcal::surface
