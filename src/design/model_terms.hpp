// The columns of a response-surface model in coded units.
#pragma once

#include <Eigen/Core>

namespace frostcal::design {

enum class Order { first, two_way, second };  // linear; with two-way interactions; with squares too

/// coded: n x k. Columns: 1, x1..xk, x1 x2, x1 x3, .., x1^2, .., xk^2, as far as the order goes.
Eigen::MatrixXd model_matrix(const Eigen::MatrixXd& coded, Order order);

}  // namespace frostcal::design
