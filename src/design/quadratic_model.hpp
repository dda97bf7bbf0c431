// The second-order model in coded units that designs are made for and judged by.
#pragma once

#include <Eigen/Core>
#include <vector>

namespace frostcal::design {

/// The second-order model of model_terms.hpp for k factors in -1..1, without the squares of factors that take
/// only two values.
struct QuadraticModel {
  std::vector<bool> squared;  // one per factor

  /// All squares.
  static QuadraticModel full(int factors);

  int factors() const { return static_cast<int>(squared.size()); }
  int terms() const;
  /// One point a row: n x k to n x terms.
  Eigen::MatrixXd rows(const Eigen::MatrixXd& points) const;
};

/// Mean of f f' over the rows f: the moments of the region that the rows stand for, terms x terms.
Eigen::MatrixXd mean_moments(const Eigen::MatrixXd& rows);

}  // namespace frostcal::design
