// Gaussian approximation of a cumulative-probit posterior by expectation propagation: means and covariances
// that follow the skewness of one-sided grades, which the mode and its curvature (Laplace) miss.
//
// T. P. Minka, Expectation propagation for approximate Bayesian inference, UAI 2001, 362-369; parallel
// updates of all sites as in A. Gelman et al., J. Mach. Learn. Res. 21 (2020) 1-53. The site of a row stands
// for its likelihood as an unnormalised Gaussian in s = (upper cutpoint - eta, lower cutpoint - eta), of
// which the outer grades have only one. Under s ~ N(m, V) the probability of the grade is
//   Z = Phi(m_u / sqrt(noise^2 + V_uu)) - Phi(m_l / sqrt(noise^2 + V_ll)),
// whose derivatives g, H of log Z in m give the moments m + V g, V + V H V exactly.
#pragma once

#include <Eigen/Core>
#include <limits>
#include <vector>

#include "surface/cumulative_link.hpp"

namespace frostcal::surface {

/// Natural parameters of one row's site, exp(h' s - s' precision s / 2).
using GradeSite = RowQuadratic;

struct SweepOptions {
  int max_sweeps = 60;
  double tolerance = 5e-3;  // of the largest change of a row's moments, in its own gradings' sd
  double evidence_floor = -std::numeric_limits<double>::infinity();  // give up when the evidence stays below
};

enum class SweepStatus { converged, hopeless, not_converged };

struct MomentPosterior {
  SweepStatus status = SweepStatus::not_converged;
  int sweeps = 0;
  std::vector<GradeSite> sites;  // one per row
  Eigen::VectorXd mean;          // of theta
  ArrowFactor factor;            // of the precision matrix
  /// Log of the approximate integral of likelihood times prior, constants as in PosteriorMode::log_evidence.
  double log_evidence = 0;
};

/// Sites that reproduce the mode and curvature of the log posterior at theta: Laplace's approximation.
std::vector<GradeSite> sites_at(const CumulativeLinkModel& model, const Eigen::VectorXd& theta);

/// Sweeps until the rows' moments settle, from the given sites (one per row; those of another prior on the
/// same rows make a good start). Needs the probit link and positive prior precisions (errors::Bug otherwise).
/// mean, factor and sites are set only when converged.
MomentPosterior propagate(const CumulativeLinkModel& model, std::vector<GradeSite> sites,
                          const SweepOptions& options = {});

}  // namespace frostcal::surface
