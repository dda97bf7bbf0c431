#include "table/adoption.hpp"

#include <algorithm>
#include <iterator>
#include <set>

#include "choice/evidence_count.hpp"
#include "choice/glass_choice.hpp"
#include "errors/bug.hpp"
#include "numerics/weighted_quantile.hpp"
#include "surface/later_bottles.hpp"
#include "surface/physical_setting.hpp"
#include "table/carry.hpp"
#include "table/settings_table.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::table {

using textfile::format_fixed;

namespace {

void object_to_evidence(AdoptionCase& adoption, const shop::Acceptance& acceptance) {
  const choice::Decision& proposed = *adoption.proposed;
  const bool nothing_graded = adoption.support.swatches + adoption.pieces == 0;
  if (nothing_graded) {
    adoption.objections.push_back("no swatch of " + adoption.glass + " is graded on " + adoption.machine);
  }
  const bool better = adoption.comparison && replaces(*adoption.comparison);
  if (proposed.chance < acceptance.chance && !better) {
    adoption.objections.push_back("the chance of " +
                                  textfile::number_under(proposed.chance, acceptance.chance) +
                                  " is under the shop's target of " + textfile::shown_bar(acceptance.chance));
  } else if (const double least = acceptance.chance - kFirstSlack;
             !adoption.old && proposed.chance_low < least) {
    adoption.objections.push_back("the low end of " + textfile::number_under(proposed.chance_low, least) +
                                  " is under " + textfile::shown_bar(least) +
                                  ", which a first setting needs (the target less " +
                                  format_fixed(kFirstSlack, 2) + "): too little is known of it yet");
  }
  if (proposed.beyond_tried && !nothing_graded) {
    adoption.objections.push_back("the setting lies well outside what was burned, so its chance is a guess");
  }
  if (adoption.comparison && !better) {
    adoption.objections.push_back(
        "the probability that it is better than the setting in force is " +
        textfile::number_under(adoption.comparison->probability_better, kBetterBar) + ", under " +
        format_fixed(kBetterBar, 2));
  }
}

// Nothing is known of the glass on this machine: what another one taught of it, carried over, is the best
// belief there is.
void lean_on_other_machine(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                           const surface::ShopSurface& surfaces, AdoptionCase& adoption) {
  const shop::Machine* from = teaching_machine(shop, evidence, adoption.glass, adoption.machine);
  if (from == nullptr) return;
  const surface::GlassSurface& learned = surfaces.glass(surface::surface_name(adoption.glass, from->name));
  const shop::Machine& to = shop.machine(adoption.machine);
  const bool beyond = adoption.proposed->beyond_tried;
  adoption.carried_from = from->name;
  const double delivered = delivered_share(surfaces, *from, to);
  adoption.proposed =
      carried_decision(learned, adoption.proposed->setting, *from, to, shop.acceptance, delivered);
  adoption.proposed->beyond_tried = beyond;
  if (!adoption.comparison) return;
  Comparison& compared = *adoption.comparison;
  compared = compare(learned, as_burned_on(adoption.old->setting, *from, to, delivered),
                     as_burned_on(adoption.proposed->setting, *from, to, delivered));
  compared.old_now = carried_chance(learned, adoption.old->setting, *from, to, delivered);
  compared.gain = adoption.proposed->chance - compared.old_now.chance;
}

std::string stale_objection(const SinceStale& stale, bool pieces_count) {
  const std::string found =
      "found stale on " + stale.since.substr(0, 10) + "; what changed was not measured since: ";
  const std::string swatches =
      std::to_string(stale.swatches) + " of " + std::to_string(kFreshSwatches) + " swatches are graded";
  if (!pieces_count) return found + swatches;
  if (stale.pieces.alarm) return found + swatches + ", and its pieces still come out worse than promised";
  return found + swatches + ", or " + std::to_string(stale.pieces.pieces) + " of " +
         std::to_string(kFreshPieces) + " pieces logged";
}

int swatches_graded_after(const surface::ShopEvidence& evidence, const std::string& glass,
                          const std::string& machine, const std::string& time) {
  std::set<std::string> swatches;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass != glass || graded.grid.machine != machine) continue;
    for (const grades::SwatchGrade& grade : graded.graded) {
      // A bare day may have been at any time of that day.
      const bool after = textfile::is_bare_day(grade.graded_at)
                             ? grade.graded_at.substr(0, 10) >= time.substr(0, 10)
                             : grade.graded_at > time;
      if (after && (grade.frost || grade.chipping)) swatches.insert(graded.grid.id + ' ' + grade.swatch);
    }
  }
  return static_cast<int>(swatches.size());
}

}  // namespace

Comparison compare(const surface::GlassSurface& surface, const surface::PhysicalSetting& old_setting,
                   const surface::PhysicalSetting& new_setting) {
  const Eigen::MatrixXd drawn = surface.drawn_chance({old_setting, new_setting});
  const double share = 1.0 / static_cast<double>(drawn.cols());
  const Eigen::VectorXd shares = Eigen::VectorXd::Constant(drawn.cols(), share);
  const Eigen::VectorXd gains = (drawn.row(1) - drawn.row(0)).transpose();
  Comparison comparison;
  for (Eigen::Index draw = 0; draw < gains.size(); ++draw) {
    comparison.probability_better += share * (gains(draw) > 0 ? 1 : gains(draw) == 0 ? 0.5 : 0);
  }
  comparison.gain_low = numerics::weighted_quantile(gains, shares, 0.05);
  comparison.gain_high = numerics::weighted_quantile(gains, shares, 0.95);
  comparison.old_now = surface.chance(old_setting);
  comparison.gain = surface.chance(new_setting).chance - comparison.old_now.chance;
  return comparison;
}

std::optional<SinceStale> since_stale(const TableRecord& record, const surface::ShopEvidence& evidence,
                                      const std::string& glass, const std::string& machine,
                                      const shop::Setting& proposed, const shop::Acceptance& acceptance) {
  std::vector<SettingsRow> stale;
  const std::optional<SettingsRow> now = in_force(record.history, glass, machine);
  if (now && now->status == Status::stale) stale.push_back(*now);
  if (const HistoryRow* row = newest_if_stale(record.history, glass, machine, proposed)) {
    stale.push_back(row->row);
  }
  std::optional<SinceStale> latest;
  for (const SettingsRow& row : stale) {
    if (excuse(record, row, acceptance)) continue;
    const std::optional<StaleFinding> finding = stale_finding(record.history, row);
    SinceStale mark;
    mark.since = finding ? finding->found_at : row.adopted_at;
    if (latest && mark.since <= latest->since) continue;
    mark.swatches = swatches_graded_after(evidence, glass, machine, mark.since);
    SettingsRow found = row;
    found.adopted_at = mark.since;
    if (row.chance > 0) mark.pieces = check_after(record.logged.counted, found, acceptance);
    latest = mark;
  }
  return latest;
}

bool enough_since(const SinceStale& stale, bool pieces_count) {
  return stale.swatches >= kFreshSwatches ||
         (pieces_count && stale.pieces.pieces >= kFreshPieces && !stale.pieces.alarm);
}

bool lacks_news(const TableRecord& record, const surface::ShopEvidence& evidence, const std::string& glass,
                const std::string& machine, const shop::Acceptance& acceptance) {
  const auto row = in_force(record.history, glass, machine);
  if (!row || row->status != Status::stale || excuse(record, *row, acceptance)) return false;
  const auto since = since_stale(record, evidence, glass, machine, row->setting, acceptance);
  return since && !enough_since(*since, true);
}

// A setting that is better only because one bottle looks as if power had changed.
void object_to_lone_bottle(AdoptionCase& adoption, const surface::ShopSurface& surfaces) {
  constexpr double kNotable = 0.05;  // of the power; a judgement
  for (const surface::PowerTrend& trend : surfaces.power_trends()) {
    if (trend.machine != adoption.machine || !trend.one_bottle || std::abs(trend.change) < kNotable) continue;
    adoption.objections.push_back("power of " + trend.machine + " looks " +
                                  (trend.change < 0 ? "down" : "up") + " by " +
                                  format_fixed(100 * std::abs(trend.change), 0) + " % since " + trend.since +
                                  ", but by a single bottle, which may be an odd one: burn another first");
  }
}

std::optional<std::string> doubt_of_newest(const surface::GlassSurface& surface,
                                           const std::vector<surface::Observation>& observations) {
  if (const auto later = surface::later_bottles(surface, observations)) {
    return "the newest bottles, " + textfile::joined(later->bottles) + ", show about " +
           format_fixed(std::abs(later->grades), 1) + " grades " + (later->grades > 0 ? "more " : "less ") +
           (later->response == surface::Response::frost ? "frost" : "chipping") +
           " than the earlier ones, whose chance this is";
  }
  if (const auto broken = surface::broken_promise(surface, observations)) {
    return "swatches " + textfile::joined(broken->swatches) + " came out bad where the earlier grids gave " +
           textfile::shown_chance(broken->promised) + ": something else than the setting may have changed";
  }
  return std::nullopt;
}

AdoptionCase weigh_adoption(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                            const surface::ShopSurface& surfaces, const std::string& glass,
                            const std::string& machine_name, const std::optional<shop::Setting>& setting,
                            const TableRecord& record) {
  const shop::Machine& machine = shop.machine(machine_name);
  const std::string name = surface::surface_name(shop.glass(glass).name, machine_name);
  const surface::GlassSurface& surface = surfaces.glass(name);
  const choice::EvidenceCount count = choice::count_evidence(evidence, name);
  AdoptionCase adoption;
  adoption.glass = glass;
  adoption.machine = machine_name;
  adoption.support = {count.swatches, count.bottles, 0};
  adoption.pieces = count.pieces;
  adoption.set_aside = grades::set_aside_text(evidence.set_aside, glass, machine_name);
  adoption.grids = choice::graded_grids(evidence, glass, machine_name);
  adoption.old = in_force(record.history, glass, machine_name);
  if (adoption.old) {
    adoption.newly_set_aside =
        grades::set_aside_text(evidence.set_aside, glass, machine_name, adoption.old->adopted_at);
    if (adoption.old->status == Status::stale)
      adoption.excused = excuse(record, *adoption.old, shop.acceptance).has_value();
  } else {
    adoption.newly_set_aside = adoption.set_aside;
  }
  std::optional<shop::Setting> wished = setting;
  if (!wished && count.swatches + count.pieces == 0) {
    if (const shop::Machine* from = teaching_machine(shop, evidence, glass, machine_name)) {
      const auto there = in_force(record.history, glass, from->name);
      wished = carried_setting(evidence, surfaces, glass, *from, machine, there).setting;
    }
  }
  if (!wished) {
    choice::ChoiceOptions options;
    options.plan_ahead = false;
    const auto best = choice::choose_setting(shop, evidence, surfaces, glass, machine_name, options).best;
    if (best) wished = best->setting;
  }
  if (wished) {
    adoption.proposed = choice::describe_setting(*wished, machine, surface, shop.acceptance);
    adoption.proposed->beyond_tried =
        choice::beyond_tried(evidence, name, surface::physical_setting(*wished, machine));
  }
  if (!adoption.proposed) {
    adoption.objections.push_back("nothing is known of " + glass + " on " + machine_name +
                                  " yet, so there is no setting to propose");
    adoption.needs_reason = true;
    return adoption;
  }
  const choice::Decision& proposed = *adoption.proposed;
  const surface::PhysicalSetting at = surface::physical_setting(proposed.setting, machine);
  adoption.support.pieces = choice::pieces_at(evidence, name, proposed.setting, machine);
  adoption.same_setting = adoption.old && shop::same_setting(adoption.old->setting, proposed.setting);
  if (adoption.old && !adoption.same_setting) {
    adoption.comparison = compare(surface, surface::physical_setting(adoption.old->setting, machine), at);
  }
  if (count.swatches + count.pieces == 0) lean_on_other_machine(shop, evidence, surfaces, adoption);
  object_to_evidence(adoption, shop.acceptance);
  if (const auto doubt = doubt_of_newest(surface, evidence.observations))
    adoption.objections.push_back(*doubt + "; burn another bottle first");
  if (adoption.comparison) object_to_lone_bottle(adoption, surfaces);
  adoption.needs_reason = !adoption.objections.empty() && !adoption.same_setting;
  adoption.stale = since_stale(record, evidence, glass, machine_name, proposed.setting, shop.acceptance);
  if (adoption.stale) {
    const bool proposed_is_stale =
        newest_if_stale(record.history, glass, machine_name, proposed.setting) != nullptr;
    if (!enough_since(*adoption.stale, proposed_is_stale)) {
      adoption.objections.push_back(stale_objection(*adoption.stale, proposed_is_stale));
    }
    adoption.needs_reason = !adoption.objections.empty();
  }
  adoption.lacks = lacks_to_settle(proposed, adoption.support, shop.acceptance);
  adoption.status =
      adoption.objections.empty() && adoption.lacks.empty() ? Status::settled : Status::provisional;
  return adoption;
}

HistoryRow adopted_row(const AdoptionCase& adoption, const std::string& by, const std::string& reason,
                       const std::string& now, const std::string& tool_version) {
  FROSTCAL_ASSERT(adoption.proposed.has_value(), "a setting to adopt");
  const choice::Decision& proposed = *adoption.proposed;
  HistoryRow history;
  history.action = Action::adopt;
  history.tool_version = tool_version;
  SettingsRow& row = history.row;
  row.glass = adoption.glass;
  row.machine = adoption.machine;
  row.setting = proposed.setting;
  row.chance = proposed.chance;
  row.chance_low = proposed.chance_low;
  row.chance_high = proposed.chance_high;
  row.tolerance_pct = proposed.tolerance_pct;
  row.seconds_per_cm2 = proposed.seconds_per_cm2;
  row.swatches = adoption.support.swatches;
  row.bottles = adoption.support.bottles;
  row.grids = adoption.grids;
  row.status = adoption.status;
  const bool renewed = adoption.same_setting && adoption.old && adoption.old->status != Status::stale;
  row.reason = reason.empty() && renewed ? adoption.old->reason : reason;
  if (!adoption.newly_set_aside.empty() && row.reason.find(adoption.newly_set_aside) == std::string::npos) {
    row.reason += (row.reason.empty() ? "" : "; ") + adoption.newly_set_aside;
  }
  row.adopted_by = by;
  row.adopted_at = now;
  return history;
}

}  // namespace frostcal::table
