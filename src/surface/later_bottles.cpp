#include "surface/later_bottles.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>
#include <utility>

namespace frostcal::surface {
namespace {

struct Bottle {
  std::pair<std::string, std::string> first;  // day and burn
  std::string name;
  double mean = 0;
  double z = 0;
};

/// Oldest first.
std::vector<Bottle> bottles_by_day(const GlassSurface& surface, Response response,
                                   const std::vector<Observation>& observations) {
  std::map<std::string, std::pair<std::string, std::string>> first;
  for (const Observation& o : observations) {
    if (o.glass != surface.glass() || o.piece) continue;
    const auto burned = std::pair(o.day, o.burn);
    const auto [found, is_new] = first.emplace(o.bottle, burned);
    if (!is_new) found->second = std::min(found->second, burned);
  }
  std::vector<Bottle> bottles;
  const std::vector<LocalEffect>& effects = surface.rows().effects;
  for (std::size_t e = 0; e < effects.size(); ++e) {
    const auto found = first.find(effects[e].name);
    if (effects[e].kind != EffectKind::bottle || found == first.end()) continue;
    const EffectSummary effect = effect_summary(surface, response, e);
    bottles.push_back({found->second, effects[e].name, effect.mean, effect.mean / effect.sd});
  }
  std::sort(bottles.begin(), bottles.end(), [](const Bottle& a, const Bottle& b) {
    return std::tie(a.first, a.name) < std::tie(b.first, b.name);
  });
  return bottles;
}

}  // namespace

EffectSummary effect_summary(const GlassSurface& surface, Response response, std::size_t effect) {
  const Eigen::Index at = static_cast<Eigen::Index>(effect);
  double mean = 0;
  double square = 0;
  for (const ScaleComponent& c : surface.posterior(response).components) {
    mean += c.weight * c.effect_mean(at);
    square += c.weight * (c.effect_variance(at) + c.effect_mean(at) * c.effect_mean(at));
  }
  return {mean, std::sqrt(std::max(square - mean * mean, 1e-12))};
}

std::optional<LaterBottles> later_bottles(const GlassSurface& surface,
                                          const std::vector<Observation>& observations) {
  constexpr std::size_t kFewest = 2;
  for (const Response response : {Response::chipping, Response::frost}) {
    const std::vector<Bottle> bottles = bottles_by_day(surface, response, observations);
    if (bottles.empty()) continue;
    const double side = bottles.back().z < 0 ? -1 : 1;
    const auto off = [&](const Bottle& bottle) { return side * bottle.z > kClearEffect; };
    const auto start = std::find_if_not(bottles.rbegin(), bottles.rend(), off).base();
    const auto count = static_cast<std::size_t>(bottles.end() - start);
    if (count < kFewest || start == bottles.begin() || std::any_of(bottles.begin(), start, off)) continue;
    LaterBottles later;
    later.response = response;
    for (auto bottle = start; bottle != bottles.end(); ++bottle) {
      later.bottles.push_back(bottle->name);
      later.grades += bottle->mean / static_cast<double>(count);
      for (const Observation& o : observations) {
        if (o.glass == surface.glass() && !o.piece && o.bottle == bottle->name)
          later.swatches.push_back(o.swatch);
      }
    }
    return later;
  }
  return std::nullopt;
}

}  // namespace frostcal::surface
