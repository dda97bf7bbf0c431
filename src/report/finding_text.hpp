// Findings about the fit in sentences that a person at the bench can act on.
#pragma once

#include <string>
#include <vector>

#include "choice/glass_likeness.hpp"
#include "choice/grading_cost.hpp"
#include "grades/rater_agreement.hpp"
#include "surface/diagnostics.hpp"
#include "surface/shared_effects.hpp"

namespace frostcal::report {

/// One sentence with the swatches concerned (at most six ids; more are counted).
std::string to_text(const surface::Finding& finding);

/// The sentences of all findings; two graders who lie on either side of the mean make one.
std::vector<std::string> finding_texts(const std::vector<surface::Finding>& findings);

/// One sentence on two glasses that one setting could serve.
std::string to_text(const choice::GlassLikeness& alike);

/// One sentence on how far a machine's power has gone; empty when its 90 % interval holds no change.
std::string to_text(const surface::PowerTrend& trend);

/// Kappa is shown from so many pairs on. With fewer its 90 % interval mostly spans more than half of what
/// kappa can be. Chosen.
inline constexpr int kLeastKappaPairs = 10;

/// One sentence on how two graders agree over the swatches that both graded; empty when they share none.
std::string to_text(const grades::GraderAgreement& agreement);

/// One sentence on how a grader agrees with himself over repeats; empty below kLeastKappaPairs.
std::string to_text(const grades::GraderConsistency& consistency);

/// One sentence on what the graders' differences cost.
std::string to_text(const choice::GradingCost& cost);

}  // namespace frostcal::report
