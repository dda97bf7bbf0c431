#include "design/quadratic_model.hpp"

#include <algorithm>

#include "design/model_terms.hpp"
#include "errors/bug.hpp"

namespace frostcal::design {

QuadraticModel QuadraticModel::full(int factors) {
  return {std::vector<bool>(static_cast<std::size_t>(factors), true)};
}

int QuadraticModel::terms() const {
  const int k = factors();
  return 1 + k + static_cast<int>(std::count(squared.begin(), squared.end(), true)) + k * (k - 1) / 2;
}

Eigen::MatrixXd QuadraticModel::rows(const Eigen::MatrixXd& points) const {
  FROSTCAL_ASSERT(points.cols() == factors(), "a point has one value per factor");
  const Eigen::MatrixXd all = model_matrix(points, Order::second);
  const Eigen::Index others = all.cols() - factors();
  Eigen::MatrixXd kept(all.rows(), terms());
  kept.leftCols(others) = all.leftCols(others);
  Eigen::Index at = others;
  for (int j = 0; j < factors(); ++j) {
    if (squared[static_cast<std::size_t>(j)]) kept.col(at++) = all.col(others + j);
  }
  return kept;
}

Eigen::MatrixXd mean_moments(const Eigen::MatrixXd& rows) {
  return rows.transpose() * rows / static_cast<double>(rows.rows());
}

}  // namespace frostcal::design
