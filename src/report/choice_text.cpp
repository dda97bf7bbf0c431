#include "report/choice_text.hpp"

#include <algorithm>
#include <cmath>

#include "choice/targeted_grid.hpp"
#include "report/finding_text.hpp"
#include "shop/burn_time.hpp"
#include "shop/shop_command.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::report {

using choice::Decision;
using choice::GlassChoice;
using choice::LimitingCause;
using textfile::format_fixed;
using textfile::labelled_line;

namespace {

std::string interval(const Decision& decision) {
  return textfile::with_interval(decision.chance, decision.chance_low, decision.chance_high);
}

// The unit of the minutes stands above, with the best setting's.
std::string in_brief(const Decision& decision, const shop::Shop& shop) {
  return shop::to_text(decision.setting) + ": " + interval(decision) + ", " +
         format_fixed(shop::area_minutes(decision.seconds_per_cm2, shop.units), 1) + " min";
}

std::string tolerance(const Decision& decision, const shop::Acceptance& acceptance) {
  const std::string target = textfile::shown_bar(acceptance.chance);
  if (decision.chance < acceptance.chance) return "none: the chance is under the target of " + target;
  return "power may drift " + textfile::format_number(decision.tolerance_pct) + " % and speed " +
         textfile::format_number(decision.speed_tolerance_pct) +
         " % either way before the chance falls under " + target;
}

// As printed, another setting has the higher chance.
bool beats_in_print(const GlassChoice& choice) {
  const auto hundredths = [](const Decision& decision) { return std::lround(100 * decision.chance); };
  return std::any_of(choice.alternatives.begin(), choice.alternatives.end(),
                     [&](const Decision& other) { return hundredths(other) > hundredths(*choice.best); });
}

std::string why_not_higher(choice::Prefer prefer) {
  const std::string near = " whose chance is within " +
                           textfile::format_number(choice::ChoiceOptions().margin) + " of the highest";
  switch (prefer) {
    case choice::Prefer::chance:
      break;
    case choice::Prefer::fast:
      return "you prefer the fastest" + near;
    case choice::Prefer::robust:
      return "you prefer the one with the widest tolerance" + near;
    case choice::Prefer::sure:
      return "you prefer the most certain" + near;
  }
  return "the best one is chosen to hold also with power 5 % off";
}

// What a person can still do where the target is missed and no grid helps.
std::string what_is_left(const GlassChoice& choice, const shop::Shop& shop) {
  if (choice.best->chance >= shop.acceptance.chance) return "";
  return labelled_line("", "the chance is under the target of " +
                               textfile::shown_bar(shop.acceptance.chance) +
                               "; what is left: another glass, another machine or wider") +
         labelled_line("", "ranges, a lower target in shop.toml, or to adopt it with a reason:") +
         labelled_line("", shop::command_for(shop, "table adopt " + choice.glass + " --machine " +
                                                       choice.machine + " --by NAME --reason TEXT"));
}

std::string next_step(const GlassChoice& choice, const shop::Shop& shop, bool found_stale) {
  if (found_stale) {
    return labelled_line("Next", "the setting in force is stale: burn a grid to learn what changed:") +
           labelled_line("", shop::plan_command(shop, choice.glass, choice.machine));
  }
  if (choice.out_of_reach) {
    return labelled_line("Next", "stop: " + out_of_reach_text()) + what_is_left(choice, shop);
  }
  if (choice.stop) {
    return labelled_line("Next", "stop: another grid is expected to raise the chance by less than " +
                                     textfile::format_number(choice::kWorthwhileGain)) +
           what_is_left(choice, shop);
  }
  const std::string why = choice.expected_gain ? "another grid is expected to raise the chance by about " +
                                                     format_fixed(*choice.expected_gain, 2)
                                               : "confirm it by a grid on " + choice.machine;
  return labelled_line("Next", why + ':') +
         labelled_line("", shop::plan_command(shop, choice.glass, choice.machine));
}

}  // namespace

std::string to_text(LimitingCause cause) {
  switch (cause) {
    case LimitingCause::nothing:
      return "nothing";
    case LimitingCause::frost:
      return "frost";
    case LimitingCause::chipping:
      return "chipping";
    case LimitingCause::bottle_spread:
      return "bottle spread";
    case LimitingCause::few_swatches:
      return "too few swatches";
  }
  return "";
}

std::vector<std::string> careful_texts(const GlassChoice& choice) {
  if (choice.swatches == 0 && !choice.known_on.empty()) {
    return {"no swatch of this glass is graded on " + choice.machine +
            "; this leans on what is known of it on " + textfile::listed(choice.known_on) +
            ", of which carry says more"};
  }
  if (choice.swatches == 0) {
    return {choice.pieces > 0
                ? "no swatch of this glass is graded; this leans on its pieces and on other glasses"
                : "no swatch of this glass is graded; this leans on the other glasses"};
  }
  if (choice.best && choice.best->beyond_tried)
    return {"this setting lies well outside what was burned; confirm it before trusting it"};
  return {};
}

std::string out_of_reach_text() {
  return "hardly any setting of this machine can reach the target on this glass";
}

std::string bar_text(const shop::Acceptance& acceptance) {
  return "frost " + std::to_string(acceptance.frost) + " or better and chipping " +
         (acceptance.chipping == 0 ? "0" : "at most " + std::to_string(acceptance.chipping));
}

std::string choice_text(const GlassChoice& choice, const shop::Shop& shop, const ChoiceContext& context) {
  std::string text = choice.glass + " on " + choice.machine + ": " +
                     textfile::counted(choice.swatches, "swatch", "swatches") + " on " +
                     textfile::counted(choice.bottles, "bottle", "bottles") +
                     (choice.pieces > 0 || !choice.set_aside.empty()
                          ? " and " + textfile::counted(choice.pieces, "logged piece", "logged pieces")
                          : "") +
                     '\n';
  if (!choice.set_aside.empty()) text += labelled_line("Not counted", choice.set_aside);
  if (!choice.best) {
    return text + labelled_line("No setting", "nothing is known of this glass yet; burn a grid:") +
           labelled_line("", shop::plan_command(shop, choice.glass, choice.machine));
  }
  const Decision& best = *choice.best;
  text += labelled_line("Best setting", shop::to_text(best.setting));
  text += labelled_line("Chance", interval(best) + " of " + bar_text(shop.acceptance) + " on a new bottle");
  text += labelled_line("Tolerance", tolerance(best, shop.acceptance));
  text += labelled_line("Burn time", shop::area_time_text(best.seconds_per_cm2, shop.units));
  for (std::size_t i = 0; i < choice.alternatives.size(); ++i) {
    const Decision& other = choice.alternatives[i];
    text += labelled_line(i == 0 ? "Also good" : "", in_brief(other, shop));
  }
  if (beats_in_print(choice)) {
    text += labelled_line("", "a higher number there: " + why_not_higher(context.prefer));
  }
  if (choice.faster) {
    text += labelled_line("Faster", in_brief(*choice.faster, shop) + "; the fastest as good within " +
                                        textfile::format_number(choice::ChoiceOptions().margin) + ":");
    text += labelled_line("", shop::command_for(shop, "fit " + choice.glass + " --machine " + choice.machine +
                                                          " --prefer fast"));
  }
  if (choice.limited_by != LimitingCause::nothing)
    text += labelled_line("Limited by", to_text(choice.limited_by));
  for (const std::string& careful : careful_texts(choice)) text += labelled_line("Careful", careful);
  if (choice.swatches == 0 && !choice.known_on.empty())
    text += labelled_line("", shop::command_for(shop, "carry " + choice.glass + " --to " + choice.machine));
  if (!choice.grids.empty()) text += labelled_line("Rests on", textfile::joined(choice.grids));
  text += next_step(choice, shop, context.found_stale);
  for (std::size_t i = 0; i < choice.findings.size(); ++i)
    text += labelled_line(i == 0 ? "Seen" : "", choice.findings[i]);
  return text;
}

std::string shared_text(const std::vector<choice::GlassLikeness>& alike,
                        const std::vector<surface::PowerTrend>& trends) {
  std::string text;
  for (const choice::GlassLikeness& pair : alike)
    text += labelled_line(text.empty() ? "Alike" : "", to_text(pair));
  for (const surface::PowerTrend& trend : trends) {
    if (const std::string line = to_text(trend); !line.empty()) text += labelled_line("Power", line);
  }
  return text;
}

std::string asked_text(const AskedSetting& asked) {
  std::string text = asked.glass + " at " + shop::to_text(asked.setting) + '\n';
  text += labelled_line("Chance",
                        textfile::with_interval(asked.chance.chance, asked.chance.low, asked.chance.high));
  std::string frost;
  for (std::size_t j = 0; j < asked.grades.frost.size(); ++j) {
    frost += (j == 0 ? "" : "  ") + std::to_string(j) + ": " + format_fixed(asked.grades.frost[j], 2);
  }
  std::string chipping;
  for (std::size_t j = 0; j < asked.grades.chipping.size(); ++j) {
    chipping += (j == 0 ? "" : "  ") + std::to_string(j) + ": " + format_fixed(asked.grades.chipping[j], 2);
  }
  return text + labelled_line("Frost", frost) + labelled_line("Chipping", chipping);
}

}  // namespace frostcal::report
