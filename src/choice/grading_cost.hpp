// What it costs the fit that graders differ.
#pragma once

#include <optional>
#include <vector>

#include "grades/rater_agreement.hpp"
#include "surface/glass_surface.hpp"
#include "surface/observation.hpp"

namespace frostcal::choice {

/// Below this many pairs of grades nothing is said of the cost.
inline constexpr double kLeastPairs = 8;

struct GradingCost {
  double share = 0;  // of the scatter of frost grades about the surface that is the graders', 0..1
  int grades = 0;    // frost grades that the fit stands on
  double worth = 0;  // so many grades without the graders' scatter would tell as much
};

/// Two graders of one swatch differ by d; a constant difference is the model's grader effect and costs
/// little, but half the variance of d is scatter that each grade carries. Its share s of the mean square
/// residual about the surface (of each grade from its prediction by all others) is information lost: what n
/// grades tell about a surface goes with n / variance, so they are worth n (1 - s). Ours, and rough:
/// residuals count in grades, the fit has them on a latent scale, and the prediction's own error counts as
/// scatter, so that the share comes out too low (0.42 where 0.55 was put in, 150 simulated swatches). Nothing
/// below kLeastPairs pairs.
std::optional<GradingCost> grading_cost(const std::vector<grades::GraderAgreement>& agreements,
                                        const surface::GlassSurface& surface,
                                        const std::vector<surface::Observation>& observations);

}  // namespace frostcal::choice
