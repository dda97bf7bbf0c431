#include "design/coded_design.hpp"

#include <cmath>
#include <utility>
#include <vector>

#include "errors/bug.hpp"

namespace frostcal::design {

double rotatable_alpha(int factorial_points) {
  return std::pow(static_cast<double>(factorial_points), 0.25);
}

int published_centre_points(int factors) {
  return factors == 2 ? 5 : 6;
}

Eigen::MatrixXd central_composite(int factors, Composite kind, int centre_points) {
  FROSTCAL_ASSERT(factors >= 2 && factors <= 4 && centre_points >= 0,
                  "a central composite design has 2 to 4 factors");
  const int corners = 1 << factors;
  const double alpha = rotatable_alpha(corners);
  const double axial = kind == Composite::rotatable ? alpha : 1.0;
  const double corner = kind == Composite::inscribed ? 1.0 / alpha : 1.0;
  Eigen::MatrixXd runs = Eigen::MatrixXd::Zero(corners + 2 * factors + centre_points, factors);
  for (int run = 0; run < corners; ++run) {
    for (int factor = 0; factor < factors; ++factor)
      runs(run, factor) = ((run >> factor) & 1) != 0 ? corner : -corner;
  }
  for (int factor = 0; factor < factors; ++factor) {
    runs(corners + 2 * factor, factor) = -axial;
    runs(corners + 2 * factor + 1, factor) = axial;
  }
  return runs;
}

Eigen::MatrixXd box_behnken(int factors, int centre_points) {
  FROSTCAL_ASSERT((factors == 3 || factors == 4) && centre_points >= 0,
                  "a Box-Behnken design here has 3 or 4 factors");
  using Pairs = std::vector<std::pair<int, int>>;
  const Pairs pairs =
      factors == 3 ? Pairs{{0, 1}, {0, 2}, {1, 2}} : Pairs{{0, 1}, {2, 3}, {0, 3}, {1, 2}, {0, 2}, {1, 3}};
  const int corners = 4 * static_cast<int>(pairs.size());
  Eigen::MatrixXd runs = Eigen::MatrixXd::Zero(corners + centre_points, factors);
  int run = 0;
  for (const auto& [first, second] : pairs) {
    for (int corner = 0; corner < 4; ++corner, ++run) {
      runs(run, first) = (corner & 1) != 0 ? 1 : -1;
      runs(run, second) = (corner & 2) != 0 ? 1 : -1;
    }
  }
  return runs;
}

}  // namespace frostcal::design
