// From a shop folder to what the surface is fitted on: every graded swatch with its physical setting.
#pragma once

#include <string>
#include <vector>

#include "design/grid.hpp"
#include "grades/grade.hpp"
#include "shop/shop.hpp"
#include "surface/observation.hpp"

namespace frostcal::surface {

/// One grid with what was seen on it.
struct GradedGrid {
  design::Grid grid;
  std::vector<grades::SwatchGrade> graded;
};

struct ShopEvidence {
  std::vector<GradedGrid> grids;          // in order of number, graded or not
  std::vector<Observation> observations;  // from all grids, then from logged pieces
};

/// Reads every grid, its grades and the logged pieces. `as_of` (a date, 2026-11-25) leaves out what was
/// graded later; empty = everything. Throws UserError for a fault in any file.
ShopEvidence read_evidence(const shop::Shop& shop, const std::string& as_of = "");

/// The observations of one graded grid.
std::vector<Observation> observations_of(const shop::Shop& shop, const GradedGrid& graded);

}  // namespace frostcal::surface
