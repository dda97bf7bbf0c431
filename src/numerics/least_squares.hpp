// Linear least squares for small dense problems, with everything that an analysis of variance needs.
#pragma once

#include <Eigen/Core>
#include <vector>

namespace frostcal::numerics {

struct LeastSquaresOptions {
  /// The first column of x is the intercept: sums of squares are about the mean. Without one R2 and F use the
  /// uncentred sum of squares.
  bool has_intercept = true;
  /// Columns whose pivot falls below this share of the largest, after scaling to unit length, count as
  /// combinations of the others. 1e-14 lets Filip's degree 10 polynomial through (scaled pivots down to about
  /// 1e-9).
  double rank_tolerance = 1e-14;
  /// One positive weight per row (a row of weight 2 has half the variance), or empty for 1 each. Sums of
  /// squares are then weighted; degrees of freedom count rows.
  Eigen::VectorXd weights = Eigen::VectorXd();
};

struct LeastSquaresFit {
  Eigen::VectorXd coefficients;         // p
  Eigen::VectorXd standard_errors;      // p
  Eigen::MatrixXd unscaled_covariance;  // p x p: (x'wx)^-1
  Eigen::VectorXd fitted;               // n
  Eigen::VectorXd residuals;            // n
  Eigen::VectorXd leverages;            // n: diagonal of x (x'wx)^-1 x'w
  int rank = 0;
  bool full_rank = false;  // false: coefficients are those of a least-norm solution and mean little
  /// Columns that are combinations of the others, ascending; which of a dependent set is named follows from
  /// the pivoting. Empty when full_rank.
  std::vector<int> dependent_columns;
  /// Ratio of smallest to largest pivot of the scaled columns.
  double pivot_ratio = 0;
  double regression_df = 0;
  double residual_df = 0;
  double total_ss = 0;
  double regression_ss = 0;
  double residual_ss = 0;
  double residual_sd = 0;  // 0 when there are no degrees of freedom left
  double r_squared = 0;    // 0 when y does not vary
  double adjusted_r_squared = 0;
  double f_statistic = 0;  // infinite for an exact fit
  double f_p_value = 1;    // upper tail of f_statistic
  double press = 0;        // prediction sum of squares: sum w (e_i / (1 - h_i))^2 (Allen 1974, from memory)
  double predicted_r_squared = 0;  // 1 - press / total_ss; minus infinity when a row alone sets a coefficient
};

/// x is n x p, y has n values, n >= 1, p >= 1; wrong shapes and values that are not finite throw errors::Bug.
/// Householder QR with column pivoting on columns scaled to unit length, then refined with residuals in
/// extended precision (Bjoerck 1967, from memory). Checked against the NIST StRD sets:
/// published/strd_test.cpp.
LeastSquaresFit fit_least_squares(const Eigen::MatrixXd& x, const Eigen::VectorXd& y,
                                  const LeastSquaresOptions& options = {});

}  // namespace frostcal::numerics
