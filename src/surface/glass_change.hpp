// Whether the newest grid of a glass goes with the earlier ones.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "surface/glass_surface.hpp"
#include "surface/observation.hpp"

namespace frostcal::surface {

/// The newest grid against the earlier ones, as if it had been burned with more or less power: its best
/// description in one number of a glass that wants another dose. What the machine's trend explains is taken
/// off.
struct GlassChange {
  std::string grid;
  double ln_power = 0;                // negative: as if less power had reached the glass
  double sd = 0;                      // of its posterior
  std::vector<std::string> swatches;  // of the newest grid
};

/// Compares the grid with the highest id with all others of the surface's glass, given at least kFewestOfADay
/// graded swatches on either side; logged pieces are left out. The offset has prior N(0, 0.3^2); both
/// responses are combined as independent given it.
std::optional<GlassChange> newest_grid_change(const GlassSurface& surface,
                                              const std::vector<Observation>& observations);

}  // namespace frostcal::surface
