// Quantiles of weighted values.
#pragma once

#include <Eigen/Core>

namespace frostcal::numerics {

/// The least of `values` (at least one) up to which the weights (as many, sum 1) come to `share`, 0..1; the
/// greatest when rounding keeps them from it.
double weighted_quantile(const Eigen::VectorXd& values, const Eigen::VectorXd& weights, double share);

}  // namespace frostcal::numerics
