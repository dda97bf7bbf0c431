// Many quadratic forms of one symmetric matrix.
#pragma once

#include <Eigen/Core>

namespace frostcal::numerics {

/// g' S g of each row g of `rows` (n x p), with symmetric S (p x p): n p^2 / 2 multiplications, since only
/// half of S is used.
Eigen::VectorXd quadratic_forms(const Eigen::MatrixXd& rows, const Eigen::MatrixXd& s);
/// In single precision: half the time. Of variances in grades squared it is off by some 1e-5.
Eigen::VectorXd quadratic_forms(const Eigen::MatrixXf& rows, const Eigen::MatrixXf& s);

}  // namespace frostcal::numerics
