// How grades scatter before any is seen: what designs are weighed with.
#pragma once

#include <Eigen/Core>
#include <vector>

namespace frostcal::design {

/// Standard deviations in grades. A judgement, the centres of the surface's own priors for frost: it only
/// weighs designs against one another.
struct GradeSpread {
  double noise = 0.45;
  double bottle = 0.25;
  double burn = 0.15;

  /// Variance of one swatch about its bottle and burn. A grade is rounded to whole numbers, which adds 1/12
  /// (W. F. Sheppard, Proc. London Math. Soc. 29 (1898) 353-380).
  double swatch_variance() const { return noise * noise + 1.0 / 12.0; }
};

/// V of grades of swatches on these burns and bottles: swatch variance on the diagonal, plus burn and bottle
/// variance between swatches that share one.
Eigen::MatrixXd grade_covariance(const std::vector<int>& burn, const std::vector<int>& bottle,
                                 const GradeSpread& spread);

}  // namespace frostcal::design
