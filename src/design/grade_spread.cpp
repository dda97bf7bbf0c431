#include "design/grade_spread.hpp"

namespace frostcal::design {

Eigen::MatrixXd grade_covariance(const std::vector<int>& burn, const std::vector<int>& bottle,
                                 const GradeSpread& spread) {
  const auto n = static_cast<Eigen::Index>(burn.size());
  Eigen::MatrixXd v = Eigen::MatrixXd::Zero(n, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index j = 0; j < n; ++j) {
      const auto a = static_cast<std::size_t>(i);
      const auto b = static_cast<std::size_t>(j);
      if (burn[a] == burn[b]) v(i, j) += spread.burn * spread.burn;
      if (bottle[a] == bottle[b]) v(i, j) += spread.bottle * spread.bottle;
    }
    v(i, i) += spread.swatch_variance();
  }
  return v;
}

}  // namespace frostcal::design
