// Opening grids, for a glass of which nothing is known.
#pragma once

#include <cstdint>
#include <vector>

#include "shop/machine.hpp"
#include "shop/setting.hpp"

namespace frostcal::design {

struct SpreadOptions {
  int swatches = 12;
  int dpi_values = 3;  // each is a burn of its own
  double inner = 0.8;  // share of each log range that is used: the corners teach little
  int sets = 40;       // scrambled Sobol' sets tried; the one with the largest smallest distance is kept
  std::uint64_t seed = 1;
};

/// Space-filling settings on the dials of `allowed` (the machine with its ranges narrowed as the user asked),
/// below the machine's dose limit: Sobol' points in ln power and ln speed (and ln tone where it may vary),
/// dealt over evenly chosen dpi values. The distance between settings is Euclidean in (ln dose / 0.7, 0.7 ln
/// heat / 0.7, 0.55 ln pitch / 0.5), so that the set is densest where glasses differ most, in dose. Fewer
/// than asked only when the dose limit leaves too few; where it leaves a corner of the ranges alone, the
/// inner share and the dpi give way before the number does, and no setting stands twice.
std::vector<shop::Setting> spread_settings(const shop::Machine& machine, const shop::Machine& allowed,
                                           const SpreadOptions& options);

/// Full lattice: `power_levels` x `speed_levels` evenly spaced in percent over the ranges of `allowed`, at
/// each of its dpi and at its highest tone; fewer levels where the dial has no more values. Settings above
/// the dose limit are left out.
std::vector<shop::Setting> lattice_settings(const shop::Machine& machine, const shop::Machine& allowed,
                                            int power_levels, int speed_levels);

}  // namespace frostcal::design
