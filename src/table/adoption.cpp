#include "table/adoption.hpp"

#include <algorithm>
#include <cmath>

#include "choice/glass_choice.hpp"
#include "errors/bug.hpp"
#include "surface/physical_setting.hpp"
#include "textfile/number_text.hpp"

namespace frostcal::table {

using textfile::format_fixed;

namespace {

double quantile(std::vector<double> values, double share) {
  const std::ptrdiff_t at = std::lround(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + at, values.end());
  return values[static_cast<std::size_t>(at)];
}

// Two decimals, or four where two would hide that one is under the other.
std::string under_text(double value, double bar) {
  const int decimals = format_fixed(value, 2) == format_fixed(bar, 2) ? 4 : 2;
  return format_fixed(value, decimals) + " is under ";
}

void object_to_evidence(AdoptionCase& adoption, const shop::Acceptance& acceptance) {
  const choice::Decision& proposed = *adoption.proposed;
  if (adoption.swatches == 0) {
    adoption.objections.push_back("no swatch of " + adoption.glass + " is graded on " + adoption.machine);
  }
  if (proposed.chance < acceptance.chance) {
    adoption.objections.push_back("the chance of " + under_text(proposed.chance, acceptance.chance) +
                                  "the shop's target of " + format_fixed(acceptance.chance, 2));
  }
  if (proposed.beyond_tried && adoption.swatches > 0) {
    adoption.objections.push_back("the setting lies well outside what was burned, so its chance is a guess");
  }
}

}  // namespace

Comparison compare(const surface::GlassSurface& surface, const surface::PhysicalSetting& old_setting,
                   const surface::PhysicalSetting& new_setting) {
  const Eigen::MatrixXd drawn = surface.drawn_chance({old_setting, new_setting});
  std::vector<double> gains;
  double better = 0;
  for (Eigen::Index draw = 0; draw < drawn.cols(); ++draw) {
    const double gain = drawn(1, draw) - drawn(0, draw);
    gains.push_back(gain);
    better += gain > 0 ? 1 : gain == 0 ? 0.5 : 0;
  }
  FROSTCAL_ASSERT(!gains.empty(), "a surface has draws");
  Comparison comparison;
  comparison.old_now = surface.chance(old_setting);
  comparison.gain = surface.chance(new_setting).chance - comparison.old_now.chance;
  comparison.gain_low = quantile(gains, 0.05);
  comparison.gain_high = quantile(gains, 0.95);
  comparison.probability_better = better / static_cast<double>(gains.size());
  return comparison;
}

AdoptionCase weigh_adoption(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                            const surface::ShopSurface& surfaces, const std::string& glass,
                            const std::string& machine_name, const std::optional<shop::Setting>& setting,
                            const std::optional<SettingsRow>& old) {
  const shop::Machine& machine = shop.machine(machine_name);
  const std::string name = surface::surface_name(shop.glass(glass).name, machine_name);
  const surface::GlassSurface& surface = surfaces.glass(name);
  choice::ChoiceOptions options;
  options.plan_ahead = false;
  const choice::GlassChoice choice =
      choice::choose_setting(shop, evidence, surfaces, glass, machine_name, options);

  AdoptionCase adoption;
  adoption.glass = glass;
  adoption.machine = machine_name;
  adoption.swatches = choice.swatches;
  adoption.bottles = choice.bottles;
  adoption.grids = choice.grids;
  adoption.old = old;
  adoption.proposed = choice.best;
  if (setting) {
    adoption.by_hand = true;
    adoption.proposed = choice::describe_setting(*setting, machine, surface, shop.acceptance);
    adoption.proposed->beyond_tried =
        choice::beyond_tried(evidence, name, surface::physical_setting(*setting, machine));
  }
  if (!adoption.proposed) {
    adoption.objections.push_back("nothing is known of " + glass + " on " + machine_name +
                                  " yet, so there is no setting to propose");
    return adoption;
  }
  const choice::Decision& proposed = *adoption.proposed;
  object_to_evidence(adoption, shop.acceptance);
  adoption.same_setting = old && same_dials(old->setting, proposed.setting);
  if (old && !adoption.same_setting) {
    adoption.comparison = compare(surface, surface::physical_setting(old->setting, machine),
                                  surface::physical_setting(proposed.setting, machine));
    if (adoption.comparison->probability_better < kBetterBar) {
      adoption.objections.push_back("the probability that it is better than the setting in force is " +
                                    format_fixed(adoption.comparison->probability_better, 2) + ", under " +
                                    format_fixed(kBetterBar, 2));
    }
  }
  adoption.status = adoption.objections.empty()
                        ? status_of(proposed, adoption.swatches, adoption.bottles, shop.acceptance)
                        : Status::provisional;
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
  row.swatches = adoption.swatches;
  row.bottles = adoption.bottles;
  row.grids = adoption.grids;
  row.status = adoption.status;
  row.reason = reason;
  row.adopted_by = by;
  row.adopted_at = now;
  return history;
}

}  // namespace frostcal::table
