// What each design would cost and teach on the same glass, before one is chosen.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "choice/next_grid.hpp"
#include "design/evaluation.hpp"

namespace frostcal::choice {

struct DesignComparison {
  std::vector<design::ComparedDesign> designs;  // targeted first where anything is known, then as listed
  std::vector<std::pair<std::string, std::string>> impossible;  // design and why
};

/// Plans the request with every design in turn, writing nothing, and compares the grids by the quadratic that
/// design::evaluate() describes. A targeted grid is aimed at the best setting, not at that quadratic, so it
/// scores low there: what it is expected to gain is plan_grid()'s to say. `progress` counts
/// designs.
DesignComparison compare_designs(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                                 const surface::ShopSurface& surfaces, const GridRequest& request,
                                 const std::string& now, const Progress& progress = {});

}  // namespace frostcal::choice
