// Findings about the fit in sentences that a person at the bench can act on.
#pragma once

#include <string>

#include "surface/diagnostics.hpp"

namespace frostcal::report {

/// One sentence with the swatches concerned (at most six ids; more are counted).
std::string to_text(const surface::Finding& finding);

}  // namespace frostcal::report
