// The table of what to type at the machine, burn by burn.
#pragma once

#include <vector>

#include "sheet/burn_page.hpp"
#include "sheet/paper_flow.hpp"

namespace frostcal::sheet {

/// Draws one group per burn: a line with what holds for the whole burn, and a row per fill. Below
/// stands how coarse tones that are drawn as dots will look.
void draw_recipe_table(PaperFlow& flow, const std::vector<BurnSheet>& sheets);

}  // namespace frostcal::sheet
