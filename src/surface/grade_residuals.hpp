// How each grade compares with its prediction from all the others.
#pragma once

#include <string>
#include <vector>

#include "surface/glass_surface.hpp"
#include "surface/observation.hpp"

namespace frostcal::surface {

/// A grade beside its leave-one-out predictive distribution (left_out_grades.hpp).
struct GradeResidual {
  std::string swatch;
  double expected = 0;  // mean predicted grade
  double lower = 0;     // P(grade < seen) and P(grade <= seen)
  double upper = 0;
  double score = 0;  // normal quantile of the middle of the two: about N(0, 1), positive = more than expected
  double surprise = 0;  // -log P(seen), at most 3, with its predictive mean and variance
  double surprise_mean = 0;
  double surprise_variance = 0;
};

/// The grade of an observation that has a plain one.
int grade_of(const Observation& observation, Response response);

/// The observations of the surface's glass with a plain grade of this response; a range has no residual.
std::vector<const Observation*> graded(const GlassSurface& surface, Response response,
                                       const std::vector<Observation>& observations);

/// One entry for each of graded(), which the surface must have been fitted to (errors::Bug otherwise); empty
/// swatch names are kept.
std::vector<GradeResidual> grade_residuals(const GlassSurface& surface, Response response,
                                           const std::vector<Observation>& observations);

}  // namespace frostcal::surface
