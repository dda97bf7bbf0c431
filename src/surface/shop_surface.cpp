#include "surface/shop_surface.hpp"

#include <algorithm>
#include <map>
#include <mutex>
#include <optional>

#include "errors/bug.hpp"
#include "numerics/parallel_for.hpp"
#include "surface/other_machine.hpp"
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
  std::once_flag pool_made;
  std::vector<PowerTrend> trends;
  std::once_flag effects_shared;
  PriorCandidates own[2];
  std::mutex mutex;
  std::map<std::string, GlassSurface> surfaces;

  const GlassRows* rows_of(const std::string& glass) const {
    const auto found =
        std::find_if(rows.begin(), rows.end(), [&](const GlassRows& r) { return r.glass == glass; });
    return found == rows.end() ? nullptr : &*found;
  }

  /// The pool of all glasses, made when it is first needed; null where there is nobody to learn from.
  const ShopPool* pool_for(const std::string& glass) {
    const bool others =
        std::any_of(rows.begin(), rows.end(), [&](const GlassRows& r) { return r.glass != glass; });
    if (!options.pool || !others) return nullptr;
    std::call_once(pool_made, [&] { pool.emplace(rows, *basis, options.link, options.seed); });
    return &*pool;
  }

  void share() {
    std::call_once(effects_shared, [&] { trends = share_effects(rows, *basis, options.link); });
  }

  /// The rows of the same glass on the other machine that knows most of it, or null.
  const GlassRows* elsewhere(const std::string& name) const {
    const GlassRows* best = nullptr;
    for (const GlassRows& other : rows) {
      if (other.glass == name || glass_of(other.glass) != glass_of(name)) continue;
      if (best == nullptr || other.weight > best->weight) best = &other;
    }
    return options.pool ? best : nullptr;
  }

  double spot_of(const std::string& machine) const {
    const auto found = options.spot_mm.find(machine);
    return found == options.spot_mm.end() ? 0 : found->second;
  }

  MachineMove move_between(const std::string& from, const std::string& to) const {
    MachineMove move;
    if (spot_of(from) > 0 && spot_of(to) > 0) move.spot_ratio = spot_of(to) / spot_of(from);
    move.delivered = delivered_share(trends, from, to);
    return move;
  }

  GlassSurface fit(const std::string& name) {
    share();
    GlassRows glass;
    glass.glass = name;
    if (const GlassRows* graded = rows_of(name)) glass = *graded;
    const ShopPool* shared = pool_for(name);
    std::optional<OtherMachine> there;
    if (const GlassRows* known = elsewhere(name)) {
      there.emplace(*known, move_between(machine_of(known->glass), machine_of(name)), *basis, options.link,
                    options.seed);
    }
    ResponsePosterior fitted[2];
    numerics::parallel_for(2, [&](std::size_t r) {
      const Response response = r == 0 ? Response::frost : Response::chipping;
      PriorCandidates candidates = shared ? shared->candidates(response, name, own[r], *basis) : own[r];
      if (there) candidates = there->candidates(response, candidates);
      fitted[r] = fit_response(response, options.link, glass, *basis, candidates.settings, candidates.priors,
                               candidates.log_prior);
    });
    return GlassSurface(name, basis, options.link, options.bar, std::move(glass), std::move(fitted[0]),
                        std::move(fitted[1]), options.draws, seed_of(name, options.seed));
  }
};

FitStatus ShopSurface::status() const {
  if (state_->rows.empty()) return FitStatus::no_data;
  fit(glasses());
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
  {
    const std::lock_guard<std::mutex> lock(state_->mutex);
    const auto found = state_->surfaces.find(name);
    if (found != state_->surfaces.end()) return found->second;
  }
  GlassSurface surface = state_->fit(name);
  const std::lock_guard<std::mutex> lock(state_->mutex);
  return state_->surfaces.emplace(name, std::move(surface)).first->second;
}

void ShopSurface::fit(const std::vector<std::string>& glasses) const {
  numerics::parallel_for(glasses.size(), [&](std::size_t i) { glass(glasses[i]); });
}

const std::vector<PowerTrend>& ShopSurface::power_trends() const {
  state_->share();
  return state_->trends;
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
  return shop;
}

}  // namespace frostcal::surface
