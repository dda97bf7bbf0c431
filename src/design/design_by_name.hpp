// Opening designs by the names that people type.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "design/planned_swatch.hpp"
#include "shop/machine.hpp"

namespace frostcal::design {

/// Of a grid where nothing is known, unless another number is asked for.
inline constexpr int kOpeningSwatches = 12;

struct DesignRequest {
  std::string name;  // one of opening_designs()
  int swatches = 0;  // 0 = the design's own number; lattice, central-composite and box-behnken set their own
  int bottles = 0;   // 0 = the design's own choice; only split-plot looks at it
  int dpi_values = 3;                // most dpi of spread and optimal
  std::pair<int, int> levels{6, 6};  // of a lattice: power x speed
  std::uint64_t seed = 1;
  double most_seconds = 0;  // of burning; 0 = no bound
  double swatch_mm = 8;     // side of a swatch, for the time it takes
};

struct OpeningDesign {
  std::vector<PlannedSwatch> swatches;
  int bottles = 0;  // how many the design needs; 0 = any number
};

/// spread, optimal (I) and optimal-d, split-plot (I), lattice, central-composite (rotatable, put inside the
/// ranges and so inscribed), central-composite-faced, box-behnken.
const std::vector<std::string>& opening_designs();

/// spread, split-plot, optimal and optimal-d can be made for any number of swatches.
bool has_free_size(const std::string& name);

/// The settings of the design on the machine's dials within `allowed` and below its dose limit; no swatches
/// when the limit forbids all of them. Where the time is short, designs of free size do
/// without the finest dpi, which take longest, as far as that makes room for more swatches, and are made for
/// fewer; the others are what they are and are refused, saying how long they take. Throws UserError
/// for an unknown name or as the design's own function.
OpeningDesign opening_design(const shop::Machine& machine, const shop::Machine& allowed,
                             const DesignRequest& request);

}  // namespace frostcal::design
