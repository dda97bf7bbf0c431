// The posterior of one response of one glass: a weighted set of Gaussians, one per setting of the prior
// scales.
#pragma once

#include <Eigen/Core>
#include <memory>
#include <optional>
#include <vector>

#include "surface/expectation_propagation.hpp"
#include "surface/glass_rows.hpp"
#include "surface/link_function.hpp"
#include "surface/surface_basis.hpp"
#include "surface/surface_prior.hpp"

namespace frostcal::surface {

enum class FitStatus { converged, not_converged, no_data };

/// Gaussian prior of the surface weights: mean and either independent sds or a full covariance.
struct WeightPrior {
  Eigen::VectorXd mean;        // p
  Eigen::VectorXd sd;          // p; used when covariance is empty
  Eigen::MatrixXd covariance;  // p x p or empty
  double dose_shift = 0;       // of this glass along u1
  bool pooled = false;         // made from other glasses
};

/// The posterior under one setting of the scales, of theta = (surface weights p, cutpoint gaps q) and of the
/// local effects k:
///   eta(x) = features(x)' theta.head(p) + local effects,   cutpoint j (from 0) = 0.5 + sum_{i < j} gap_i,
///   gap_i = 1 + 0.25 theta(p + i).
/// Grade >= j means eta + noise > cutpoint j - 1.
struct ScaleComponent {
  double weight = 0;  // posterior weight; those of a response sum to 1
  double log_evidence = 0;
  int length_choice = 0;  // for SurfaceBasis::evaluate
  double dose_shift = 0;  // for SurfaceBasis::evaluate
  bool pooled = false;    // its prior came from the other glasses of the shop
  double noise = 0;       // sigma of one grading act
  double bottle_sd = 0;
  double new_bottle_variance = 0;  // bottle, burn and grader spread of a bottle not seen yet
  Eigen::VectorXd mean;
  Eigen::MatrixXd covariance;
  Eigen::VectorXd effect_mean;  // k, in order of GlassRows::effects
  Eigen::VectorXd effect_variance;
};

struct ResponsePosterior {
  Response response = Response::frost;
  FitStatus status = FitStatus::no_data;
  std::vector<ScaleComponent> components;  // the fewest that hold 0.99 of the weight, or all
  int gaps() const { return categories(response) - 2; }
  /// Log of the evidence averaged over the scale settings: how well this prior predicted the grades.
  double log_evidence = 0;
  /// Of each row of the response, as mixed_left_out has it. Only with Keep::predictions.
  Eigen::MatrixXd left_out;
  /// One per row, of the last component that has them: for another fit of the same rows to start from.
  std::vector<GradeSite> sites;
};

/// predictions: the heaviest components, and left_out. heaviest: these components alone. all: every
/// component, settled less finely; for what one glass tells others.
enum class Keep { predictions, heaviest, all };

/// Fits one response. priors has one entry per scale setting, log_prior the logs of their prior probabilities
/// (empty: equal). start_sites: those of an earlier fit of the same rows, or empty. Never throws for data.
ResponsePosterior fit_response(Response response, Link link, const GlassRows& glass,
                               const SurfaceBasis& basis, const std::vector<ScaleSetting>& settings,
                               const std::vector<WeightPrior>& priors, const Eigen::VectorXd& log_prior = {},
                               Keep keep = Keep::predictions, const std::vector<GradeSite>& start_sites = {});

}  // namespace frostcal::surface
