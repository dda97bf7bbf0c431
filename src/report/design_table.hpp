// The table of `plan --compare`.
#pragma once

#include <string>

#include "choice/compare_designs.hpp"

namespace frostcal::report {

/// Plain text, at most 100 columns wide, with lines on what the figures mean.
std::string design_table_text(const choice::DesignComparison& comparison);

/// {"designs": [{"design", "swatches", "bottles", "burns", "recipes", "burn_seconds", "reach", "estimable",
/// "lacking", "d_efficiency", "i_efficiency", "mean_variance", "largest_variance", "power", "power_factor",
/// "doubt_removed"}], "impossible": [{"design", "reason"}]}. "lacking" says why a design is not estimable and
/// is null where it is; the figures from "d_efficiency" to "power_factor" are null where it is not;
/// "doubt_removed" is null where nothing is known yet.
std::string design_table_json(const choice::DesignComparison& comparison);

}  // namespace frostcal::report
