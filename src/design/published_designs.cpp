#include "design/published_designs.hpp"

#include <cmath>

#include "errors/bug.hpp"

namespace frostcal::design {

using Eigen::Index;
using Eigen::MatrixXd;

double rotatable_alpha(int factors) {
  return std::pow(2.0, factors / 4.0);
}

MatrixXd central_composite(int factors, double alpha, int centre_points) {
  FROSTCAL_ASSERT(factors >= 2 && factors <= 6 && alpha > 0 && centre_points >= 0,
                  "central composite design");
  const Index corners = Index{1} << factors;
  MatrixXd points = MatrixXd::Zero(corners + 2 * factors + centre_points, factors);
  for (Index run = 0; run < corners; ++run) {
    for (int j = 0; j < factors; ++j) points(run, j) = (run >> j) % 2 == 0 ? -1 : 1;
  }
  for (int j = 0; j < factors; ++j) {
    points(corners + 2 * j, j) = -alpha;
    points(corners + 2 * j + 1, j) = alpha;
  }
  return points;
}

MatrixXd box_behnken(int factors, int centre_points) {
  FROSTCAL_ASSERT((factors == 3 || factors == 4) && centre_points >= 0, "Box-Behnken design");
  const int pairs = factors * (factors - 1) / 2;
  MatrixXd points = MatrixXd::Zero(4 * pairs + centre_points, factors);
  Index run = 0;
  for (int i = 0; i < factors; ++i) {
    for (int j = i + 1; j < factors; ++j) {
      for (int corner = 0; corner < 4; ++corner, ++run) {
        points(run, i) = corner % 2 == 0 ? -1 : 1;
        points(run, j) = corner / 2 == 0 ? -1 : 1;
      }
    }
  }
  return points;
}

}  // namespace frostcal::design
