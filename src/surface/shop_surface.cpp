#include "surface/shop_surface.hpp"

#include "errors/bug.hpp"

namespace frostcal::surface {
namespace {

std::vector<WeightPrior> own_priors(Response response, const std::vector<ScaleSetting>& settings,
                                    const SurfaceBasis& basis) {
  std::vector<WeightPrior> priors;
  for (const ScaleSetting& s : settings) {
    FeaturePrior f = feature_prior(response, s, basis.features(s.length_choice));
    priors.push_back({std::move(f.mean), std::move(f.sd), {}, 0});
  }
  return priors;
}

/// Seeds of different glasses must differ, and not depend on how many glasses there are.
std::uint64_t seed_of(const std::string& name, std::uint64_t seed) {
  std::uint64_t hash = 14695981039346656037u ^ seed;  // FNV-1a
  for (const char c : name) hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211u;
  return hash;
}

}  // namespace

FitStatus ShopSurface::status() const {
  if (glasses_.empty()) return FitStatus::no_data;
  for (const auto& [name, surface] : glasses_) {
    if (surface.status() == FitStatus::not_converged) return FitStatus::not_converged;
  }
  return FitStatus::converged;
}

std::vector<std::string> ShopSurface::glasses() const {
  std::vector<std::string> names;
  for (const auto& [name, surface] : glasses_) names.push_back(name);
  return names;
}

const GlassSurface& ShopSurface::glass(const std::string& name) const {
  const auto found = glasses_.find(name);
  return found == glasses_.end() ? *unseen_ : found->second;
}

ShopSurface fit_shop(const std::vector<Observation>& observations, const FitOptions& options) {
  FROSTCAL_ASSERT(options.scale_settings >= 1, "fit_shop: scale settings");
  std::shared_ptr<const SurfaceBasis> basis = options.basis;
  if (!basis) basis = std::make_shared<SurfaceBasis>(options.centre);
  const std::vector<ScaleSetting> frost =
      scale_settings(Response::frost, options.scale_settings, options.seed);
  const std::vector<ScaleSetting> chipping =
      scale_settings(Response::chipping, options.scale_settings, options.seed);
  const std::vector<WeightPrior> frost_priors = own_priors(Response::frost, frost, *basis);
  const std::vector<WeightPrior> chipping_priors = own_priors(Response::chipping, chipping, *basis);

  const auto fit_one = [&](const GlassRows& rows) {
    return GlassSurface(
        rows.glass, basis, options.link, options.bar, rows,
        fit_response(Response::frost, options.link, rows, *basis, frost, frost_priors),
        fit_response(Response::chipping, options.link, rows, *basis, chipping, chipping_priors),
        options.draws, seed_of(rows.glass, options.seed));
  };
  ShopSurface shop;
  for (const GlassRows& rows : gather_rows(observations, basis->centre())) {
    shop.glasses_.emplace(rows.glass, fit_one(rows));
  }
  shop.unseen_ = std::make_shared<GlassSurface>(fit_one(GlassRows{}));
  return shop;
}

}  // namespace frostcal::surface
