// Optimal opening grids: a quadratic in the log coordinates, estimated as well as the swatches allow.
#pragma once

#include <cstdint>
#include <vector>

#include "design/exchange.hpp"
#include "design/planned_swatch.hpp"
#include "shop/machine.hpp"

namespace frostcal::design {

struct OptimalOptions {
  int swatches = 16;
  int repeats = 2;     // of the swatches: second copies of settings, which dealing puts on other bottles
  int dpi_values = 3;  // each is a burn of its own
  double inner = 0.8;  // share of each log range that is used: the corners teach little
  Criterion criterion = Criterion::i;
  int starts = 20;
  std::uint64_t seed = 1;
};

/// D- or I-optimal settings on the machine's dials within `allowed` and below the dose limit. The exchange
/// runs over a lattice of at most 11 powers and 11 speeds; then each swatch moves along its dials, all values
/// allowed, while that improves the criterion. W of the I criterion is averaged over the lattice. Repeats are
/// the settings whose second copy improves the criterion most. Throws UserError when there are fewer swatches
/// than terms of the model, or the dose limit leaves too few settings to tell the terms apart.
std::vector<PlannedSwatch> optimal_swatches(const shop::Machine& machine, const shop::Machine& allowed,
                                            const OptimalOptions& options);

}  // namespace frostcal::design
