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

/// Bottles of the newest grid, or of all grids of the latest day, on which everything failed that the earlier
/// grids gave a high chance. A surface that has seen them may well explain them by where they lie.
struct BrokenPromise {
  double promised = 0;                // mean chance of those swatches by the earlier grids
  double probability = 1;             // that so many bottles fail, by the earlier grids
  std::vector<std::string> bottles;   // that failed
  std::vector<std::string> swatches;  // of them, with a high chance
};

/// By a quick fit of the earlier grids, given at least kFewestToPromise graded swatches of them. Of each
/// bottle count the swatches with a chance of at least kHighChance there that were clearly good or not. Told
/// when so many failed bottles have a probability under kBroken.
inline constexpr std::size_t kFewestToPromise = 12;
inline constexpr double kHighChance = 0.85;
inline constexpr double kBroken = 0.05;
std::optional<BrokenPromise> broken_promise(const GlassSurface& surface,
                                            const std::vector<Observation>& observations);

}  // namespace frostcal::surface
