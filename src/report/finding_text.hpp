// Findings about the fit in sentences that a person at the bench can act on.
#pragma once

#include <string>

#include "grades/rater_agreement.hpp"
#include "surface/diagnostics.hpp"

namespace frostcal::report {

/// One sentence with the swatches concerned (at most six ids; more are counted).
std::string to_text(const surface::Finding& finding);

/// One sentence on how two graders agree over the swatches that both graded; empty when they share none.
std::string to_text(const grades::GraderAgreement& agreement);

}  // namespace frostcal::report
