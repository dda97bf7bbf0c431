// Linear model with random group effects, fitted by restricted maximum likelihood (REML): split plots, where
// something is set once for a whole burn or bottle.
#pragma once

#include <Eigen/Core>
#include <vector>

namespace frostcal::numerics {

enum class RemlStatus {
  converged,
  not_converged,
  no_data,           // no degrees of freedom left for the residual
  dependent_columns  // x has not full column rank
};

struct RemlFit {
  RemlStatus status = RemlStatus::no_data;
  Eigen::VectorXd coefficients;     // p, generalized least squares
  Eigen::VectorXd standard_errors;  // p, for the variances found
  Eigen::MatrixXd covariance;       // p x p
  Eigen::VectorXd variances;        // one per random effect, never negative
  double residual_variance = 0;
  /// Predicted effect of each group (best linear unbiased prediction), one vector per random effect.
  std::vector<Eigen::VectorXd> effects;
  /// -2 log restricted likelihood with (n - p) log 2 pi and log |X'V^-1 X|, without a term log |X'X|.
  double criterion = 0;
  int iterations = 0;
};

/// y = x b + sum_k u_k[group_k] + e, u_k ~ N(0, variance_k), e ~ N(0, residual_variance). groups[k] holds n
/// group numbers from 0; effects may be crossed or nested. n >= 1, p >= 1; wrong shapes and values that are
/// not finite throw errors::Bug. A variance whose best value is 0 comes back as exactly 0.
///
/// Newton's method on the profiled criterion in the ratios variance_k / residual_variance, projected on the
/// ratios >= 0 (H. D. Patterson and R. Thompson, Biometrika 58, 545 (1971); profile as in D. Bates et al., J.
/// Stat. Software 67(1) (2015)). Cost per step is cubic in the number of groups, linear in n only once.
RemlFit fit_reml(const Eigen::MatrixXd& x, const Eigen::VectorXd& y,
                 const std::vector<std::vector<int>>& groups);

}  // namespace frostcal::numerics
