// The answer of `fit` in words, for a person at a terminal, and as JSON, for a script.
#pragma once

#include <string>
#include <vector>

#include "choice/decision.hpp"
#include "choice/glass_choice.hpp"
#include "choice/glass_likeness.hpp"
#include "report/json_output.hpp"
#include "shop/shop.hpp"
#include "surface/shared_effects.hpp"

namespace frostcal::report {

struct ChoiceContext {
  choice::Prefer prefer = choice::Prefer::chance;
  bool found_stale = false;  // the setting in force is stale, and too little was learned since
};

/// About a dozen lines, without colour, at most 100 columns.
std::string choice_text(const choice::GlassChoice& choice, const shop::Shop& shop,
                        const ChoiceContext& context = {});

/// What holds for several glasses: which behave alike, and how far each machine's power has gone. Empty when
/// there is nothing to say.
std::string shared_text(const std::vector<choice::GlassLikeness>& alike,
                        const std::vector<surface::PowerTrend>& trends);

/// What to expect at a setting that was asked for.
std::string asked_text(const AskedSetting& asked);

/// "nothing", "frost", "chipping", "bottle spread", "too few swatches".
std::string to_text(choice::LimitingCause cause);

/// Why another grid is not worth its bottle where no setting will do.
std::string out_of_reach_text();

/// What a reader of the answer should be careful about; mostly nothing.
std::vector<std::string> careful_texts(const choice::GlassChoice& choice);

/// What is acceptable, in words: "frost 4 or better and chipping 0".
std::string bar_text(const shop::Acceptance& acceptance);

}  // namespace frostcal::report
