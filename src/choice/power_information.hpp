// Where a swatch tells most of the machine's power.
#pragma once

#include "surface/glass_surface.hpp"

namespace frostcal::choice {

/// Fisher information of one more graded swatch about the ln of the delivered power, from the chances of its
/// grades on a new bottle: large where they still change with power, half-way up to even frost or where chips
/// set in.
double power_information(const surface::GlassSurface& surface, const surface::PhysicalSetting& setting);

}  // namespace frostcal::choice
