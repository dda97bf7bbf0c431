// Whether the newest bottles of a glass are like the earlier ones.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "surface/glass_surface.hpp"
#include "surface/observation.hpp"

namespace frostcal::surface {

/// The newest bottles, each of which shows grades that are clearly off what the surface says, all to one
/// side, as no earlier bottle does: another kind of glass, or something on the machine that power does not
/// describe. The surface then takes them for odd ones, and its chance is that of the earlier bottles.
struct LaterBottles {
  Response response = Response::frost;
  double grades = 0;                 // mean effect of these bottles, in grades
  std::vector<std::string> bottles;  // at least two, in order of their first day
  std::vector<std::string> swatches;
};

/// Mean and standard deviation of the surface's effect with that index, over all prior scales.
struct EffectSummary {
  double mean = 0;
  double sd = 0;
};
EffectSummary effect_summary(const GlassSurface& surface, Response response, std::size_t effect);

/// A bottle is off when its effect is over kClearEffect posterior standard deviations. Logged pieces are left
/// out. By the day of a bottle's first grade; where days are missing, by grid.
inline constexpr double kClearEffect = 2.5;
std::optional<LaterBottles> later_bottles(const GlassSurface& surface,
                                          const std::vector<Observation>& observations);

}  // namespace frostcal::surface
