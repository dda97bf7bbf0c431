// The two PDFs of a grid.
#pragma once

#include <string>
#include <vector>

#include "design/grid.hpp"
#include "sheet/burn_page.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"

namespace frostcal::cli {

struct GridSheets {
  std::string burn_pdf;  // bytes
  std::string run_pdf;
};

/// In memory, from the drawn burns.
GridSheets draw_sheets(const shop::Shop& shop, const design::Grid& grid,
                       const std::vector<sheet::BurnSheet>& burns);

/// The same with the burns drawn. Bottles that earlier grids of `evidence` burned on already carry their
/// marks.
GridSheets draw_sheets(const shop::Shop& shop, const design::Grid& grid,
                       const surface::ShopEvidence& evidence, bool screen_here = false);

/// Replaces burn.pdf and run.pdf in the grid's folder.
void write_sheets(const shop::Shop& shop, const design::Grid& grid, const GridSheets& sheets);

}  // namespace frostcal::cli
