// The fitted response surfaces of all glasses of a shop.
//
// Model. Each response of a swatch is an ordinal grade: grade = j when c_j < eta + noise <= c_{j+1}
// (McCullagh 1980). eta = polynomial of second order in physical log coordinates + smooth discrepancy +
// bottle, burn, grader, day and trend effects. All effects have Gaussian priors in grade units
// (surface_prior.hpp). The posterior is approximated by expectation propagation (Laplace for the logit). The
// prior's scales are averaged over a fixed set of settings, each weighted by its approximate evidence. The
// cost is linear in swatches and in glasses for a given number of bottles and burns a glass.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "surface/glass_surface.hpp"
#include "surface/observation.hpp"
#include "surface/shared_effects.hpp"

namespace frostcal::surface {

struct FitOptions {
  Link link = Link::probit;
  Bar bar;
  CoordinateCentre centre;
  int scale_settings = 24;  // settings of the prior scales that are averaged over, for each response
  int draws = 400;          // of the posterior, for comparing settings and for batches
  std::uint64_t seed = 1;   // of the scrambled point set and of the draws
  bool pool = true;         // let glasses inform one another
  std::map<std::string, double> spot_mm;  // by machine; a machine that isn't named has the same as others
  /// The features; made from `centre` when null. Share one between fits of a shop to save about 5 ms each.
  std::shared_ptr<const SurfaceBasis> basis;
};

/// Surfaces are fitted when first asked for and kept; safe to use from several threads at once.
class ShopSurface {
 public:
  /// converged unless some glass is not_converged; no_data when there is no graded swatch at all. Fits all.
  FitStatus status() const;
  /// Glasses with at least one graded swatch, in order of name.
  std::vector<std::string> glasses() const;
  bool has(const std::string& glass) const;
  /// The named glass; one that was never graded gets what the other glasses, or else the prior, say. The
  /// reference stays valid as long as this ShopSurface or a copy of it lives.
  const GlassSurface& glass(const std::string& name) const;
  /// Fits these glasses now, several at once, for when all of them will be asked for.
  void fit(const std::vector<std::string>& glasses) const;
  /// Of machines whose dated swatches span at least kTrendSpan days. Surfaces are those of the latest day.
  const std::vector<PowerTrend>& power_trends() const;

 private:
  friend ShopSurface fit_shop(const std::vector<Observation>& observations, const FitOptions& options);
  struct State;
  std::shared_ptr<State> state_;
};

/// Gathers the swatches and what glasses have in common; the surfaces follow on demand. Deterministic: the
/// same observations in any order, options and seed give the same numbers. Non-convergence and absent data
/// are statuses. Throws errors::Bug on grades out of range and on settings that aren't positive.
ShopSurface fit_shop(const std::vector<Observation>& observations, const FitOptions& options);

}  // namespace frostcal::surface
