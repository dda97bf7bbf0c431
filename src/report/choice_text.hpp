// The answer of `fit` in words, for a person at a terminal, and as JSON, for a script.
#pragma once

#include <string>

#include "choice/decision.hpp"
#include "report/json_output.hpp"
#include "shop/shop.hpp"

namespace frostcal::report {

/// About a dozen lines, without colour, at most 100 columns.
std::string choice_text(const choice::GlassChoice& choice, const shop::Acceptance& acceptance);

/// What to expect at a setting that was asked for.
std::string asked_text(const AskedSetting& asked);

/// "nothing", "frost", "chipping", "bottle spread", "too few swatches".
std::string to_text(choice::LimitingCause cause);

/// What is acceptable, in words: "frost 4 or better and chipping 0".
std::string bar_text(const shop::Acceptance& acceptance);

}  // namespace frostcal::report
