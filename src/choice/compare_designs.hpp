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
  /// Share of the doubt about the best setting that each of `designs` would take away (doubt_removed()),
  /// for targets that none was aimed at; empty where nothing is known yet.
  std::vector<double> doubt_removed;
};

/// Plans the request with every design in turn, writing nothing, and compares the grids by the quadratic that
/// design::evaluate() describes, and where anything is known of this or another glass by the doubt that they
/// take away too: a targeted grid is aimed at the best setting, not at that quadratic, so it scores low
/// there. `progress` counts designs.
DesignComparison compare_designs(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                                 const surface::ShopSurface& surfaces, const GridRequest& request,
                                 const std::string& now, const Progress& progress = {});

}  // namespace frostcal::choice
