// The head of a page about one glass: its name, what the page is, and the figures to dial in.
#pragma once

#include <string>
#include <vector>

#include "sheet/paper_flow.hpp"

namespace frostcal::report {

/// The name large on the left, at most two lines small on the right; 11 mm high. A long name is smaller; a
/// line that is too long is cut at its end.
void draw_head(sheet::PaperFlow& flow, const std::string& name, const std::vector<std::string>& beside);

struct Figure {
  std::string name;
  std::string value;
};

/// Figures side by side over the whole width, each under its name, in type of `value_mm`; about 1.5 times
/// that and 2 mm high.
void draw_figures(sheet::PaperFlow& flow, const std::vector<Figure>& figures, double value_mm);

}  // namespace frostcal::report
