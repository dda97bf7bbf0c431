// The table of `plan --compare`.
#pragma once

#include <string>

#include "choice/compare_designs.hpp"

namespace frostcal::report {

/// Plain text, at most 100 columns wide, with a line on what the figures mean.
std::string design_table_text(const choice::DesignComparison& comparison);

/// {"designs": [{"design", "swatches", "bottles", "burns", "recipes", "burn_seconds", "estimable",
/// "d_efficiency", "i_efficiency", "largest_variance", "power", "power_factor"}], "impossible": [{"design",
/// "reason"}]}; the last five of a design are null when it is not estimable.
std::string design_table_json(const choice::DesignComparison& comparison);

}  // namespace frostcal::report
