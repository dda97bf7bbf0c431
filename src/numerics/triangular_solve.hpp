// A triangular solve for many rows and few columns.
#pragma once

#include <Eigen/Core>

namespace frostcal::numerics {

/// rows := rows L^-T in place, L = the lower triangle of `lower` (p x p), rows n x p: column by column, some
/// rows at a time so that they stay in the cache. For p under 100 or so faster than a solve of the
/// transposed.
void times_inverse_transpose(const Eigen::MatrixXd& lower, Eigen::Ref<Eigen::MatrixXd> rows);

}  // namespace frostcal::numerics
