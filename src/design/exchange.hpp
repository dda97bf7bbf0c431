// Exact optimal designs by exchanging points between the design and a list of candidates.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <vector>

namespace frostcal::design {

enum class Criterion {
  d,  // largest det(F'F): the smallest confidence region of the coefficients
  i   // smallest trace((F'F)^-1 W): the smallest prediction variance, averaged over the region with moments W
};

struct ExchangeOptions {
  Criterion criterion = Criterion::i;
  int starts = 20;
  int sweeps = 50;  // at most, per start
  std::uint64_t seed = 1;
};

struct ExchangeResult {
  std::vector<int> rows;     // candidates in the design, ascending, repeats allowed; empty if not estimable
  bool estimable = false;    // false: the candidates or the number of runs can't tell all terms apart
  bool converged = false;    // the kept start ended because no exchange improved it
  double log_det = 0;        // log det(F'F)
  double mean_variance = 0;  // trace((F'F)^-1 W), unit noise variance
};

/// What an exchange lowers: -log det(F'F), or the log of the mean variance; infinite where not estimable.
double loss(const ExchangeResult& result, Criterion criterion);

/// log det(F'F) and trace((F'F)^-1 W) of the design made of these candidates.
ExchangeResult judge(const Eigen::MatrixXd& candidates, const Eigen::MatrixXd& moments,
                     const std::vector<int>& rows);

/// Exchanges from the given design on until no single exchange improves it: for each design point in turn the
/// candidate that improves most takes its place (R. D. Cook and C. J. Nachtsheim, Technometrics 22 (1980)
/// 315-324, after V. V. Fedorov, Theory of Optimal Experiments, 1972). Never worse than `rows`. candidates is
/// N x p, one model row each; moments p x p. A start
/// that is not estimable is not improved: the result says so.
ExchangeResult improve(const Eigen::MatrixXd& candidates, const Eigen::MatrixXd& moments,
                       const std::vector<int>& rows, const ExchangeOptions& options);

/// The best of options.starts runs of improve(). A start is a few random candidates, grown one at a time by
/// the candidate of largest prediction variance (Z. Galil and J. Kiefer, Technometrics 22 (1980) 301-313).
ExchangeResult exchange(const Eigen::MatrixXd& candidates, const Eigen::MatrixXd& moments, int runs,
                        const ExchangeOptions& options);

}  // namespace frostcal::design
