// How logged pieces sharpen what is believed of settings.
//
// A piece is a bottle that came out good or not: a Bernoulli trial of the very chance that a row promises. So
// the surface is fitted without the pieces of the glass on the machine, and each of its draws is weighted by
// the probability of what the pieces showed, prod p^good (1 - p)^bad over their settings. (Most pieces lie in
// the outermost grades, where a Gaussian approximation of the posterior moves little however many there are:
// with a Laplace fit 25 good pieces of 25 left a chance of 0.86 where it was.)
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "choice/decision.hpp"
#include "grades/piece_file.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::table {

/// Pieces contradict a fit that leaves fewer draws than this share of all (Kish's effective number, 1 / sum
/// of squared weights); the fit with the pieces among its grades is used instead. Chosen.
inline constexpr double kLeastEffectiveShare = 0.1;

class PieceWeightedSurface {
 public:
  /// `surfaces` is the fit of `evidence`, pieces included. Only the latest surface::kMostPieces pieces count.
  /// `surfaces` must outlive this.
  PieceWeightedSurface(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                       const surface::ShopSurface& surfaces, const std::string& glass,
                       const std::string& machine, const std::vector<grades::PieceRow>& pieces);

  const surface::GlassSurface& surface() const { return *surface_; }
  /// One per draw of surface(), sum 1; empty when there are no pieces, or when they contradict the fit.
  const Eigen::VectorXd& weights() const { return weights_; }
  /// As choice::describe_setting, with the weights.
  choice::Decision describe(const shop::Setting& setting, const shop::Machine& machine,
                            const shop::Acceptance& acceptance) const;

 private:
  surface::ShopSurface without_pieces_;
  const surface::GlassSurface* surface_ = nullptr;
  Eigen::VectorXd weights_;
};

/// Mean and 5 % and 95 % quantile of `values` (one per draw) under `weights` (sum 1).
surface::ChanceInterval weighted_interval(const Eigen::VectorXd& values, const Eigen::VectorXd& weights);

}  // namespace frostcal::table
