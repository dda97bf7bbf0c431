// The cumulative-link (ordinal regression) model in its general form, and Newton's method for its posterior
// mode.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "surface/link_function.hpp"

namespace frostcal::surface {

/// P(category <= j) = F((c_{j+1} - eta) / noise), eta = offset + design a, c = cutpoint_offset + cutpoint_map
/// z (P. McCullagh, J. R. Statist. Soc. B 42 (1980) 109-142). The parameters are theta = (z, a), q + r of
/// them, with independent N(0, 1/precision) priors; precision 0 is a flat prior. Everything is linear in
/// theta within F, so the log posterior is concave.
struct CumulativeLinkModel {
  Link link = Link::probit;
  double noise = 1;
  Eigen::MatrixXd design;           // n x r
  Eigen::VectorXd offset;           // n, or empty for 0
  std::vector<int> category;        // n, each 0..J-1
  Eigen::VectorXd weight;           // n, or empty for 1
  Eigen::VectorXd cutpoint_offset;  // J-1
  Eigen::MatrixXd cutpoint_map;     // (J-1) x q
  Eigen::VectorXd precision;        // q + r

  Eigen::Index parameters() const { return cutpoint_map.cols() + design.cols(); }
  Eigen::VectorXd linear_predictor(const Eigen::VectorXd& theta) const;
  Eigen::VectorXd cutpoints(const Eigen::VectorXd& theta) const;
};

/// Free cutpoints (q = J-1, map = identity), flat priors, unit noise and weights.
CumulativeLinkModel free_cutpoint_model(Link link, Eigen::MatrixXd design, std::vector<int> category,
                                        int categories);

/// A start with ordered cutpoints for free_cutpoint_model: cutpoints at F^-1 of the smoothed cumulative
/// shares, a = 0.
Eigen::VectorXd empirical_start(const CumulativeLinkModel& model);

struct LogPosterior {
  double log_likelihood = 0;  // sum of weighted log probabilities
  double value = 0;           // log_likelihood - sum precision theta^2 / 2; -infinity if cutpoints cross
  Eigen::VectorXd gradient;   // of value
  Eigen::MatrixXd negative_hessian;  // of value; both triangles filled
};

/// value and log_likelihood only.
LogPosterior log_posterior_value(const CumulativeLinkModel& model, const Eigen::VectorXd& theta);
/// All of it, in closed form. Cost n r^2.
LogPosterior log_posterior(const CumulativeLinkModel& model, const Eigen::VectorXd& theta);

enum class NewtonStatus { converged, iteration_limit, singular, no_ascent };

struct NewtonOptions {
  int max_iterations = 100;
  double decrement_tolerance = 1e-9;  // on gradient' H^-1 gradient / 2
};

struct PosteriorMode {
  NewtonStatus status = NewtonStatus::converged;
  int iterations = 0;
  double decrement = 0;  // at the last point
  Eigen::VectorXd theta;
  LogPosterior at_mode;
  Eigen::MatrixXd cholesky;  // lower triangle L of the negative Hessian, L L' = H; empty when singular
  double log_det_cholesky = 0;

  /// Log of the Laplace approximation to the integral of likelihood times prior, for a proper prior whose
  /// normalising constant is that of unit precision: value - log det L (the powers of 2 pi cancel).
  double log_evidence() const { return at_mode.value - log_det_cholesky; }
  /// H^-1.
  Eigen::MatrixXd covariance() const;
};

/// Newton's method with step halving from `start`, whose cutpoints must be ordered (errors::Bug otherwise).
/// Never throws for data: separation under flat priors ends as singular or iteration_limit with finite theta.
PosteriorMode find_mode(const CumulativeLinkModel& model, const Eigen::VectorXd& start,
                        const NewtonOptions& options = {});

}  // namespace frostcal::surface
