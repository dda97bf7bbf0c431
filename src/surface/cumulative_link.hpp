// The cumulative-link (ordinal regression) model in its general form, and Newton's method for its posterior
// mode.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "surface/arrow_precision.hpp"
#include "surface/link_function.hpp"

namespace frostcal::surface {

/// P(category <= j) = F((c_{j+1} - eta) / noise), eta = offset + design a + scaled group effects, c =
/// cutpoint_offset + cutpoint_map z (P. McCullagh, J. R. Statist. Soc. B 42 (1980) 109-142). The parameters
/// are theta = (z, a, outer group effects, inner group effects) with independent N(0, 1/precision) priors;
/// precision 0 is a flat prior. Everything is linear in theta within F, so the log posterior is concave. z
/// and a are the core of the arrow-shaped Hessian.
struct CumulativeLinkModel {
  Link link = Link::probit;
  double noise = 1;
  Eigen::MatrixXd design;     // n x r
  Eigen::VectorXd offset;     // n, or empty for 0
  std::vector<int> category;  // n, each 0..J-1
  /// n, or empty: a row whose category is only known to lie from lowest to category, both included.
  std::vector<int> lowest;
  Eigen::VectorXd weight;           // n, or empty for 1
  Eigen::VectorXd cutpoint_offset;  // J-1
  Eigen::MatrixXd cutpoint_map;     // (J-1) x q
  NestedGroups groups;              // of rows, or empty
  Eigen::VectorXd precision;        // one for each parameter

  int lowest_of(Eigen::Index row) const { return lowest.empty() ? category[row] : lowest[row]; }
  Eigen::Index core() const { return cutpoint_map.cols() + design.cols(); }
  Eigen::Index parameters() const { return core() + groups.outer() + groups.inner(); }
  double weight_at(Eigen::Index row) const { return weight.size() ? weight(row) : 1.0; }
  Eigen::VectorXd linear_predictor(const Eigen::VectorXd& theta) const;
  Eigen::VectorXd cutpoints(const Eigen::VectorXd& theta) const;
};

/// Free cutpoints (q = J-1, map = identity), flat priors, unit noise and weights.
CumulativeLinkModel free_cutpoint_model(Link link, Eigen::MatrixXd design, std::vector<int> category,
                                        int categories);

/// A start with ordered cutpoints for free_cutpoint_model: cutpoints at F^-1 of the smoothed cumulative
/// shares, a = 0.
Eigen::VectorXd empirical_start(const CumulativeLinkModel& model);

/// A quadratic in one row's s = (upper cutpoint - eta, lower cutpoint - eta): h' s - s' precision s / 2. Rows
/// of an outer category leave what they don't have at 0. A row of weight w counts as w of them.
struct RowQuadratic {
  double h_upper = 0;
  double h_lower = 0;
  double upper = 0;  // precision: upper-upper, lower-lower, upper-lower
  double lower = 0;
  double cross = 0;
};

/// The rows' weighted quadratics and the prior, with s linear in theta: gradient h' ds/dtheta (without the
/// prior's) and negative Hessian. Rows' precisions that would be negative along eta count as 0.
struct JoinedRows {
  Eigen::VectorXd gradient;
  ArrowPrecision precision;
};
JoinedRows join_rows(const CumulativeLinkModel& model, const std::vector<RowQuadratic>& rows);

/// Variances of the rows' eta and of the cutpoints, and their covariances, from the factor of theta's
/// precision.
struct RowSpread {
  Eigen::VectorXd of_eta;     // n
  Eigen::MatrixXd of_cuts;    // (J-1) x (J-1)
  Eigen::MatrixXd with_cuts;  // n x (J-1)
};
RowSpread row_spread(const CumulativeLinkModel& model, const ArrowFactor& factor);

struct LogPosterior {
  double log_likelihood = 0;  // sum of weighted log probabilities
  double value = 0;           // log_likelihood - sum precision theta^2 / 2; -infinity if cutpoints cross
  Eigen::VectorXd gradient;   // of value
  ArrowPrecision negative_hessian;  // of value
};

/// First and negative second derivatives of each row's log probability in s, at theta; returns the sum of
/// weighted log probabilities.
double row_derivatives(const CumulativeLinkModel& model, const Eigen::VectorXd& theta,
                       std::vector<RowQuadratic>& rows);

/// value and log_likelihood only.
LogPosterior log_posterior_value(const CumulativeLinkModel& model, const Eigen::VectorXd& theta);
/// All of it, in closed form. Cost n r^2, however many groups there are.
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
  ArrowFactor factor;  // of the negative Hessian H; not positive when singular

  /// Log of the Laplace approximation to the integral of likelihood times prior, for a proper prior whose
  /// normalising constant is that of unit precision: value - log det H / 2 (the powers of 2 pi cancel).
  double log_evidence() const { return at_mode.value - factor.log_root_determinant(); }
};

/// Newton's method with step halving from `start`, whose cutpoints must be ordered (errors::Bug otherwise).
/// Never throws for data: separation under flat priors ends as singular or iteration_limit with finite theta.
PosteriorMode find_mode(const CumulativeLinkModel& model, const Eigen::VectorXd& start,
                        const NewtonOptions& options = {});

}  // namespace frostcal::surface
