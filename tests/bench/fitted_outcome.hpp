// What a fitted surface names as the best setting, and what it promises.
#pragma once

#include "bench/strategy.hpp"
#include "surface/glass_surface.hpp"

namespace frostcal::bench {

/// `so_far` with the setting of the world's machine that the surface gives the highest chance, and with its
/// promise.
Outcome fitted_outcome(const World& world, const surface::GlassSurface& surface, Outcome so_far);

}  // namespace frostcal::bench
