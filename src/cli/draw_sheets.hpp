// The two PDFs of a grid.
#pragma once

#include <string>

#include "design/grid.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"

namespace frostcal::cli {

struct GridSheets {
  std::string burn_pdf;  // bytes
  std::string run_pdf;
};

/// Draws in memory. Bottles that
/// earlier grids of `evidence` burned on already carry their marks.
GridSheets draw_sheets(const shop::Shop& shop, const design::Grid& grid,
                       const surface::ShopEvidence& evidence, bool screen_here = false);

/// Replaces burn.pdf and run.pdf in the grid's folder.
void write_sheets(const shop::Shop& shop, const design::Grid& grid, const GridSheets& sheets);

}  // namespace frostcal::cli
