#include "surface/shop_surface.hpp"

#include <algorithm>
#include <map>
#include <mutex>
#include <optional>

#include "errors/bug.hpp"
#include "surface/pooling.hpp"

namespace frostcal::surface {
namespace {

/// Seeds of different glasses must differ, and not depend on how many glasses there are.
std::uint64_t seed_of(const std::string& name, std::uint64_t seed) {
  std::uint64_t hash = 14695981039346656037u ^ seed;  // FNV-1a, constants from memory
  for (const char c : name) hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211u;
  return hash;
}

}  // namespace

struct ShopSurface::State {
  FitOptions options;
  std::shared_ptr<const SurfaceBasis> basis;
  std::vector<GlassRows> rows;
  std::optional<ShopPool> pool;
  PriorCandidates own[2];
  std::mutex mutex;
  std::map<std::string, GlassSurface> surfaces;

  const GlassRows* rows_of(const std::string& glass) const {
    const auto found =
        std::find_if(rows.begin(), rows.end(), [&](const GlassRows& r) { return r.glass == glass; });
    return found == rows.end() ? nullptr : &*found;
  }

  ResponsePosterior fit(Response response, const GlassRows& glass) const {
    const PriorCandidates& alone = own[response == Response::frost ? 0 : 1];
    const PriorCandidates candidates = pool ? pool->candidates(response, glass.glass, alone, *basis) : alone;
    return fit_response(response, options.link, glass, *basis, candidates.settings, candidates.priors,
                        candidates.log_prior);
  }
};

FitStatus ShopSurface::status() const {
  if (state_->rows.empty()) return FitStatus::no_data;
  for (const GlassRows& rows : state_->rows) {
    if (glass(rows.glass).status() == FitStatus::not_converged) return FitStatus::not_converged;
  }
  return FitStatus::converged;
}

std::vector<std::string> ShopSurface::glasses() const {
  std::vector<std::string> names;
  for (const GlassRows& rows : state_->rows) names.push_back(rows.glass);
  return names;
}

bool ShopSurface::has(const std::string& glass) const {
  return state_->rows_of(glass) != nullptr;
}

const GlassSurface& ShopSurface::glass(const std::string& name) const {
  const std::lock_guard<std::mutex> lock(state_->mutex);
  const auto found = state_->surfaces.find(name);
  if (found != state_->surfaces.end()) return found->second;
  GlassRows rows;
  rows.glass = name;
  if (const GlassRows* graded = state_->rows_of(name)) rows = *graded;
  ResponsePosterior frost = state_->fit(Response::frost, rows);
  ResponsePosterior chipping = state_->fit(Response::chipping, rows);
  const FitOptions& options = state_->options;
  return state_->surfaces
      .emplace(name,
               GlassSurface(name, state_->basis, options.link, options.bar, std::move(rows), std::move(frost),
                            std::move(chipping), options.draws, seed_of(name, options.seed)))
      .first->second;
}

ShopSurface fit_shop(const std::vector<Observation>& observations, const FitOptions& options) {
  FROSTCAL_ASSERT(options.scale_settings >= 1, "fit_shop: scale settings");
  ShopSurface shop;
  shop.state_ = std::make_shared<ShopSurface::State>();
  ShopSurface::State& state = *shop.state_;
  state.options = options;
  state.basis = options.basis ? options.basis : std::make_shared<SurfaceBasis>(options.centre);
  state.rows = gather_rows(observations, state.basis->centre());
  state.own[0] = unpooled_candidates(Response::frost, *state.basis, options.scale_settings, options.seed);
  state.own[1] = unpooled_candidates(Response::chipping, *state.basis, options.scale_settings, options.seed);
  if (options.pool && !state.rows.empty()) {
    state.pool.emplace(state.rows, *state.basis, options.link, options.seed);
  }
  return shop;
}

}  // namespace frostcal::surface
