// Opening designs by the names that people type.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "design/coded_design.hpp"
#include "design/exchange.hpp"
#include "design/planned_swatch.hpp"
#include "shop/machine.hpp"

namespace frostcal::design {

struct DesignRequest {
  std::string name;  // one of opening_designs()
  int swatches = 0;  // 0 = the design's own number; lattice, central-composite and box-behnken set their own
  int bottles = 0;   // 0 = the design's own choice; only split-plot looks at it
  int dpi_values = 3;                // most dpi of spread and optimal
  std::pair<int, int> levels{6, 6};  // of a lattice: power x speed
  Composite star = Composite::face_centred;
  Criterion criterion = Criterion::i;
  std::uint64_t seed = 1;
};

struct OpeningDesign {
  std::vector<PlannedSwatch> swatches;
  int bottles = 0;  // how many the design needs; 0 = any number
};

/// spread, optimal, split-plot, lattice, central-composite, box-behnken.
const std::vector<std::string>& opening_designs();

/// The settings of the design on the machine's dials within `allowed` and below its dose limit; no swatches
/// when the limit forbids all of them. Throws UserError for an unknown name or as the design's own function.
OpeningDesign opening_design(const shop::Machine& machine, const shop::Machine& allowed,
                             const DesignRequest& request);

/// The star of a central composite from "rotatable", "face-centred" or "inscribed", and the criterion from
/// "I" or "D"; UserError otherwise.
Composite parse_star(const std::string& text);
Criterion parse_criterion(const std::string& text);

}  // namespace frostcal::design
