// Optimal designs by exchange of runs with candidates.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <vector>

namespace frostcal::design {

enum class Criterion {
  d,  // largest det(X'X): smallest joint confidence region of the coefficients
  i   // smallest prediction variance, averaged over the candidates
};

struct ExchangeOptions {
  Criterion criterion = Criterion::i;
  int runs = 12;
  int starts = 20;  // random starts; the best result is kept
  int passes = 50;  // at most, per start
  std::uint64_t seed = 1;
};

struct OptimalDesign {
  std::vector<Eigen::Index> rows;  // of the candidates, ascending; repeats allowed
  double log_det = 0;              // of X'X
  double mean_variance = 0;        // trace((X'X)^-1 B), B the mean of f f' over the candidates
  double largest_variance = 0;     // max over the candidates of f' (X'X)^-1 f
};

/// candidates: N x p model rows. Each run in turn is taken out and replaced by the candidate that serves the
/// criterion best, until a pass changes nothing (V. V. Fedorov, "Theory of Optimal Experiments" (1972), in
/// the row-by-row form of R. D. Cook and C. J. Nachtsheim, Technometrics 22 (1980) 315-324; both from
/// memory). Never worse than its start. Throws errors::Bug unless runs >= p and the candidates span the
/// model.
OptimalDesign exchange(const Eigen::MatrixXd& candidates, const ExchangeOptions& options);

/// The same measures for given rows.
OptimalDesign evaluate_design(const Eigen::MatrixXd& candidates, const std::vector<Eigen::Index>& rows);

/// (det(X'X))^(1/p) / n.
double d_value(double log_det, Eigen::Index terms, Eigen::Index runs);

}  // namespace frostcal::design
