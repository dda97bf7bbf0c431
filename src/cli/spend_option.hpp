// What --spend says.
#pragma once

#include <string>

#include "choice/next_grid.hpp"

namespace frostcal::cli {

/// "20min", "1h", "18swatches", "1bottle", or several joined by commas; a bare number is minutes; empty is no
/// bound. Throws UsageError.
choice::Spending read_spending(const std::string& text);

}  // namespace frostcal::cli
