// Does the surface fit the grades it was made from, everywhere?
#pragma once

#include <string>
#include <vector>

#include "surface/grade_residuals.hpp"

namespace frostcal::surface {

/// The leave-one-out log score of each grade less its expectation under the grade's own prediction, summed
/// over the grade and its neighbours in (ln dose, ln heat, ln pitch) and over all grades, each in standard
/// deviations. A neighbourhood is a fifth of the swatches, at least kFewestNeighbours.
struct LackOfFit {
  double overall = 0;                 // excess over all grades
  double local = 0;                   // the largest excess of a neighbourhood
  std::vector<std::string> swatches;  // of that neighbourhood
};

inline constexpr std::size_t kFewestNeighbours = 6;

/// swatches and residuals belong together, at least kFewestNeighbours of them (errors::Bug otherwise).
LackOfFit lack_of_fit(const SurfaceBasis& basis, const std::vector<const Observation*>& swatches,
                      const std::vector<GradeResidual>& residuals);

}  // namespace frostcal::surface
