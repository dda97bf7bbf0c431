// Precision matrices shaped like an arrow: a dense core, and random effects of groups of rows within groups
// (burns within bottles), each of which touches only its own rows.
#pragma once

#include <Eigen/Core>
#include <vector>

namespace frostcal::surface {

/// Every row belongs to one inner group and every inner group to one outer group. A group's effect adds its
/// scale times a value of its own to the rows' linear predictor; scale 0: no effect.
struct NestedGroups {
  std::vector<int> inner_of_row;    // n, or empty when there are no groups
  std::vector<int> outer_of_inner;  // K
  Eigen::VectorXd inner_scale;      // K
  Eigen::VectorXd outer_scale;      // B

  Eigen::Index inner() const { return inner_scale.size(); }
  Eigen::Index outer() const { return outer_scale.size(); }
};

/// Symmetric matrix of c + B + K rows: the core, then the outer and the inner groups' effects. What is not
/// here is 0.
struct ArrowPrecision {
  Eigen::MatrixXd core;        // c x c; only the lower triangle is used
  Eigen::VectorXd outer;       // B, diagonal
  Eigen::VectorXd inner;       // K, diagonal
  Eigen::MatrixXd outer_core;  // B x c
  Eigen::MatrixXd inner_core;  // K x c
  Eigen::VectorXd coupling;    // K, of each inner group with its outer one

  Eigen::Index size() const { return core.rows() + outer.size() + inner.size(); }
  bool finite() const;
  Eigen::MatrixXd dense(const std::vector<int>& outer_of_inner) const;
};

/// Cholesky's factorization, eliminating the inner groups, then the outer ones, then the core (Schur
/// complements). Cost: c^3 / 6 + (B + K) c^2 / 2.
class ArrowFactor {
 public:
  ArrowFactor() = default;
  ArrowFactor(const ArrowPrecision& precision, std::vector<int> outer_of_inner);

  /// False for a matrix that is not positive definite; then nothing else may be asked.
  bool positive() const { return positive_; }
  Eigen::Index size() const { return core_.rows() + outer_pivot_.size() + inner_pivot_.size(); }
  Eigen::VectorXd solve(const Eigen::VectorXd& rhs) const;
  /// Half the log of the determinant: the log of the product of the factor's diagonal.
  double log_root_determinant() const;
  /// The core's part of the inverse, c x c.
  Eigen::MatrixXd core_covariance() const;
  /// The inverse's diagonal.
  Eigen::VectorXd variances() const;

  /// Lower triangular factor of the core's Schur complement.
  const Eigen::MatrixXd& core() const { return core_; }
  /// The covariance of functionals f of (core, groups), of which each has its row's scales at its groups:
  /// with g = f_core - core_shift.col(inner group), f' C f' = variance of the inner group where f and f'
  /// share it + g' S^-1 g', S the core's Schur complement.
  struct Reduced {
    Eigen::MatrixXd core_shift;  // K x c
    Eigen::VectorXd variance;    // K
  };
  Reduced reduced(const NestedGroups& groups) const;

 private:
  bool positive_ = false;
  std::vector<int> outer_of_inner_;
  Eigen::MatrixXd core_;
  Eigen::VectorXd outer_pivot_;
  Eigen::VectorXd inner_pivot_;
  Eigen::MatrixXd outer_core_;  // B x c: the coupling with the core over the pivot
  Eigen::MatrixXd inner_core_;  // K x c: the same
  Eigen::VectorXd coupling_;    // K: over the inner pivot
};

}  // namespace frostcal::surface
