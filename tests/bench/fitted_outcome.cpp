#include "bench/fitted_outcome.hpp"

#include "choice/best_setting.hpp"
#include "surface/physical_setting.hpp"

namespace frostcal::bench {

Outcome fitted_outcome(const World& world, const surface::GlassSurface& surface, Outcome so_far) {
  const auto ranked = choice::rank_settings(
      world.machine,
      [&](const std::vector<surface::PhysicalSetting>& settings) { return surface.scan_chance(settings); });
  if (ranked.empty()) return so_far;
  so_far.chosen = ranked.front().setting;
  const auto said = surface.chance(surface::physical_setting(*so_far.chosen, world.machine));
  so_far.promise = Outcome::Promise{said.chance, said.low, said.high};
  return so_far;
}

}  // namespace frostcal::bench
