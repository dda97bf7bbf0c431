#include <ostream>

#include "cli/commands.hpp"
#include "cli/fit_pairs.hpp"
#include "cli/progress_bar.hpp"
#include "cli/setting_options.hpp"
#include "cli/terminal.hpp"
#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"
#include "table/adoption.hpp"
#include "table/settings_table.hpp"
#include "table/table_text.hpp"
#include "version.hpp"

namespace frostcal::cli {

namespace {

// What decides, said under the numbers.
std::string verdict(const table::AdoptionCase& adoption, const std::string& reason, bool adopted) {
  if (!adoption.proposed) return "Not adopted. Burn a grid first:  frostcal plan " + adoption.glass + '\n';
  if (!adopted) {
    return "Not adopted: the evidence does not support it. Burn another grid (frostcal plan " +
           adoption.glass + "),\nor say why you want it all the same with --reason TEXT.\n";
  }
  const std::string status = table::to_text(adoption.status);
  if (!adoption.objections.empty()) return "Adopted against the evidence: " + reason + " (" + status + ").\n";
  return "Adopted (" + status + ").\n";
}

ExitStatus run_adopt(const Arguments& arguments, const Streams& streams) {
  const std::string by = read_by(arguments);
  const std::string reason = arguments.text("reason");
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::string& glass = arguments.operands.at(0);
  shop.glass(glass);
  const surface::ShopEvidence evidence = surface::read_evidence(shop);
  const shop::Machine& machine = machine_for(arguments, shop, evidence, glass);
  const auto old = table::in_force(table::read_history(shop), glass, machine.name);
  std::optional<ProgressBar> bar(std::in_place, streams, "Fitting " + glass);
  const surface::ShopSurface surfaces =
      surface::fit_shop(evidence.observations, surface::shop_fit_options(shop));

  table::AdoptionCase adoption =
      table::weigh_adoption(shop, evidence, surfaces, glass, machine.name, std::nullopt, old);
  std::optional<shop::Setting> base;
  if (adoption.proposed) base = adoption.proposed->setting;
  if (const auto named = setting_from_options(arguments, machine, base)) {
    adoption = table::weigh_adoption(shop, evidence, surfaces, glass, machine.name, named, old);
  }
  bar.reset();
  const bool adopted = adoption.proposed && (adoption.objections.empty() || !reason.empty());
  std::optional<table::HistoryRow> row;
  if (adopted) {
    row = table::adopted_row(adoption, by, reason, now_text(), kVersion);
    const InterruptDelay delay;
    table::record(shop, *row);
  }
  if (arguments.has("json")) {
    streams.out << table::adoption_json(adoption, row ? &*row : nullptr);
  } else {
    streams.out << table::adoption_text(adoption) << verdict(adoption, reason, adopted);
  }
  return adopted ? ExitStatus::done : ExitStatus::no;
}

}  // namespace

Command table_adopt_command() {
  std::vector<OptionText> options{
      {"by", "NAME", "who adopts it (needed)", false},
      {"machine", "NAME", "the laser (default: the one that the glass is graded on, else the first)", false},
      {"reason", "TEXT", "why; with it a setting is adopted even against the evidence", false}};
  for (const OptionText& row : setting_option_rows()) options.push_back(row);
  options.push_back({"json", "", "print one JSON object", false});
  return {
      "table adopt",
      "GLASS",
      1,
      1,
      "put the best setting, or one that you name, in force",
      "Shows old against new: the gain in chance, the probability that new is better, the evidence. Refuses "
      "(exit status 1) when no swatch of the glass is graded on that machine, the chance is under the "
      "shop's target, the setting lies well outside what was burned, or, when another setting is in force, "
      "new is better with a probability under 0.80. --reason overrules that and is kept with the row.\n\n"
      "Without dials: the best setting of `fit`. Dials that you don't name are those of the best setting.\n\n"
      "Every adoption is kept in results/settings-history.csv; `table restore` goes back.",
      options,
      run_adopt};
}

}  // namespace frostcal::cli
