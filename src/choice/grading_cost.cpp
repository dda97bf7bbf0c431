#include "choice/grading_cost.hpp"

#include <algorithm>

#include "errors/bug.hpp"
#include "surface/grade_residuals.hpp"

namespace frostcal::choice {

std::optional<GradingCost> grading_cost(const std::vector<grades::GraderAgreement>& agreements,
                                        const surface::GlassSurface& surface,
                                        const std::vector<surface::Observation>& observations) {
  double pairs = 0;
  double scatter = 0;
  for (const grades::GraderAgreement& agreement : agreements) {
    pairs += agreement.frost.pairs;
    scatter += agreement.frost.pairs * agreement.frost_scatter / 2;
  }
  if (pairs < kLeastPairs) return std::nullopt;
  scatter /= pairs;

  const std::vector<surface::GradeResidual> residuals =
      surface::grade_residuals(surface, surface::Response::frost, observations);
  double square = 0;
  std::size_t at = 0;
  for (const surface::Observation& seen : observations) {
    if (seen.glass != surface.glass() || seen.frost == surface::kNotGraded || !(seen.weight > 0)) continue;
    if (!seen.frost.is_plain()) continue;
    FROSTCAL_ASSERT(at < residuals.size(), "a residual for each grade");
    const double residual = seen.frost.lowest - residuals[at++].expected;
    square += residual * residual;
  }
  if (at == 0 || !(square > 0)) return std::nullopt;
  GradingCost cost;
  cost.grades = static_cast<int>(at);
  cost.share = std::clamp(scatter / (square / static_cast<double>(at)), 0.0, 1.0);
  cost.worth = cost.grades * (1 - cost.share);
  return cost;
}

}  // namespace frostcal::choice
