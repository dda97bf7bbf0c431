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
  std::string subject;                  // bottle, grader, grid, or "x" / "y" for position_trend
  /// swatch_disagrees: grade less its expectation; bottle_differs, grader_differs: effect in grades;
  /// glass_changed: offset in ln power;
  /// position_trend, responses_associated: correlation; lack_of_fit: excess in standard deviations.
  double size = 0;
  double p_value = 1;                 // two-sided, of `size` if the model held (lack_of_fit: one-sided)
  std::vector<std::string> swatches;  // those concerned: the swatch, or all of the bottle or grader
};

/// Residual of one grade: how the grade compares with its prediction from all other grades (the grade's own
/// contribution to the Gaussian posterior is taken out of its cell by dividing by its Gaussian site).
struct GradeResidual {
  std::string swatch;
  double expected = 0;  // mean predicted grade
  double lower = 0;     // P(grade < seen) and P(grade <= seen)
  double upper = 0;
  double score = 0;  // normal quantile of the middle of the two: about N(0, 1), positive = more than expected
  double surprise = 0;  // -log P(seen), with its predictive mean and variance
  double surprise_mean = 0;
  double surprise_variance = 0;
};

/// One entry per observation of the surface's glass with a plain grade of this response (a range has no
/// residual); empty swatch names are kept.
std::vector<GradeResidual> grade_residuals(const GlassSurface& surface, Response response,
                                           const std::vector<Observation>& observations);

/// All findings, by kind in the order of FindingKind. Observations of other glasses are passed over. A swatch
/// disagrees at p < 0.05 / swatches (Bonferroni); effects need |mean| over 2.5 posterior sd,
/// a changed glass 3 and 5 % of power; correlations p <
/// 0.01 by Fisher's z and at least 10 swatches; lack of fit over 8 standard deviations. These limits are
/// ours.
std::vector<Finding> diagnose(const GlassSurface& surface, const std::vector<Observation>& observations);

}  // namespace frostcal::surface
