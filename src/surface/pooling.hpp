// What the glasses of a shop say of one another: prior candidates for one glass from all the others.
//
// Whitened surface weights of glass g: w_g = sqrt(rho) w_0 + sqrt(1 - rho) d_g with w_0, d_g ~ N(0, I), so
// that the prior of one glass is the same whether it is split or not. Each glass is fitted by itself; with
// posterior mean m and covariance S (whitened) its Gaussian message about w_0 is, D = I - S,
//     precision rho D (I - rho D)^-1,   precision times mean sqrt(rho) (I - rho D)^-1 m,
// which is the Schur complement of the glass's block in the joint (arrow-shaped) Hessian. The prior of a
// glass is made of the messages of the others, never of its own. Cost: glasses x (features^3 + swatches x
// features^2).
//
// Glasses differ first of all in how much dose they want: each is shifted along ln dose to where it agrees
// best with the best-known glass. A glass is offered several shifts and degrees of pooling, and always its
// own unpooled prior; its evidence weighs them, so that an odd glass refuses the shop's advice.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "surface/glass_rows.hpp"
#include "surface/response_fit.hpp"

namespace frostcal::surface {

/// Scale settings with the weight priors that belong to them, and the logs of their prior probabilities.
struct PriorCandidates {
  std::vector<ScaleSetting> settings;
  std::vector<WeightPrior> priors;
  Eigen::VectorXd log_prior;

  /// Leaves this share of the probability to those that are there, the rest to what is added.
  void leave(double share);
  void add(const ScaleSetting& setting, const WeightPrior& prior, double log_probability);
};

/// `count` settings of the scales with independent priors, equally probable.
PriorCandidates unpooled_candidates(Response response, const SurfaceBasis& basis, int count,
                                    std::uint64_t seed);

/// What one glass says of the weights that the shop has in common, under one setting of the scales.
struct PoolMessage {
  Eigen::MatrixXd precision;
  Eigen::VectorXd vector;
  double log_evidence = 0;
};

/// Scales, and the share of a surface's prior variance that it has in common with those it learns from.
struct PooledSetting {
  ScaleSetting scales;
  double pooling = 0;
};

/// One message per setting; `sites` to start from, or empty.
std::vector<PoolMessage> messages_of(Response response, Link link, const GlassRows& rows,
                                     const SurfaceBasis& basis, const std::vector<PooledSetting>& settings,
                                     double dose_shift, const std::vector<GradeSite>& sites);

/// The prior of a glass's weights by messages that belong to the setting; not shifted.
WeightPrior prior_by(const std::vector<const PoolMessage*>& messages, Response response,
                     const PooledSetting& setting, const SurfaceBasis& basis);

class ShopPool {
 public:
  ShopPool(const std::vector<GlassRows>& glasses, const SurfaceBasis& basis, Link link, std::uint64_t seed);

  /// `own` with the candidates that the glasses other than `glass` give; `own` alone when there are none.
  PriorCandidates candidates(Response response, const std::string& glass, const PriorCandidates& own,
                             const SurfaceBasis& basis) const;

 private:
  struct Source {
    std::string glass;
    double dose_shift = 0;
    std::vector<PoolMessage> messages[2];  // by response, one per pooled setting
  };
  std::vector<PooledSetting> settings_[2];
  std::vector<Source> sources_;
};

}  // namespace frostcal::surface
