// The second-order model in coded units that designs are made for and judged by.
#pragma once

#include <Eigen/Core>
#include <vector>

namespace frostcal::design {

/// Which terms the model has, for k factors in -1..1: 1, x_j, x_j^2 for each factor that takes three or more
/// values, x_i x_j for i < j; in this order.
struct QuadraticModel {
  std::vector<bool> squared;  // one per factor

  /// All squares.
  static QuadraticModel full(int factors);

  int factors() const { return static_cast<int>(squared.size()); }
  int terms() const;
  /// Terms at one point (k values).
  Eigen::RowVectorXd row(const Eigen::Ref<const Eigen::RowVectorXd>& point) const;
  /// One point a row: n x k to n x terms.
  Eigen::MatrixXd rows(const Eigen::MatrixXd& points) const;
};

/// Mean of f f' over the rows f: the moments of the region that the rows stand for, terms x terms.
Eigen::MatrixXd mean_moments(const Eigen::MatrixXd& rows);

/// f' A f for each row f.
Eigen::VectorXd quadratic_forms(const Eigen::MatrixXd& rows, const Eigen::MatrixXd& a);

}  // namespace frostcal::design
