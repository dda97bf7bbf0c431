#include <ostream>

#include "cli/commands.hpp"
#include "cli/fit_pairs.hpp"
#include "cli/message.hpp"
#include "cli/progress_bar.hpp"
#include "cli/setting_options.hpp"
#include "cli/shop_reading.hpp"
#include "cli/terminal.hpp"
#include "cli/text_option.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"
#include "table/adoption.hpp"
#include "table/settings_table.hpp"
#include "table/table_text.hpp"
#include "textfile/number_text.hpp"
#include "version.hpp"

namespace frostcal::cli {

namespace {

// What decides, said under the numbers.
std::string verdict(const shop::Shop& shop, const table::AdoptionCase& adoption, const std::string& reason,
                    bool adopted) {
  const std::string plan = shop::plan_command(shop, adoption.glass, adoption.machine);
  if (!adoption.proposed) return "Not adopted. Burn a grid first:  " + plan + '\n';
  if (!adopted) {
    const bool stale = adoption.old && adoption.old->status == table::Status::stale && !adoption.excused;
    std::string text =
        "Not adopted: the evidence does not support it. Burn " +
        std::string(stale ? "a grid to learn what changed" : "another grid") + ":  " + plan + '\n' +
        (stale ? "Or say why you want it all the same with --reason TEXT.\n"
               : "Where fit says that no further grid helps, what is left is another glass, "
                 "another machine or wider\nranges, a lower target in shop.toml, or to say why "
                 "you want it all the same with --reason TEXT.\n");
    if (adoption.comparison && adoption.old->status != table::Status::stale) {
      text += "The setting in force stays, with its numbers as they were; --in-force renews them.\n";
    }
    return text;
  }
  const std::string status = " (" + table::to_text(adoption.status) + ").\n";
  if (adoption.needs_reason) return "Adopted against the evidence: " + reason + status;
  if (adoption.same_setting) return "The setting in force stays; its evidence is renewed" + status;
  return "Adopted" + status;
}

ExitStatus run_adopt(const Arguments& arguments, const Streams& streams) {
  const std::string by = read_by(arguments);
  const std::string reason = read_note(arguments, "reason");
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::string& glass = arguments.operands.at(0);
  shop.glass(glass);
  (void)time_after_rows(shop);  // said before the fit
  const surface::ShopEvidence evidence = read_evidence(shop, streams);
  const table::TableRecord record = read_whole_record(shop);
  const shop::Machine& machine = machine_for(arguments, shop, evidence, glass);
  const auto old = table::in_force(record.history, glass, machine.name);
  std::optional<ProgressBar> bar(std::in_place, streams, "Fitting " + glass);
  const surface::ShopSurface surfaces = surface::fit_shop(shop, evidence.observations);

  std::optional<shop::Setting> named;
  if (arguments.has("in-force")) {
    for (const OptionText& dial : setting_option_rows()) {
      if (arguments.has(dial.name))
        throw UsageError("--in-force and --" + dial.name + " cannot be given together");
    }
    if (!old) {
      tell(streams, "Nothing is in force for " + glass + " on " + machine.name + ".\n");
      return ExitStatus::no;
    }
    if (const auto wrong = impossible_now(shop, machine.name, old->setting)) {
      tell(streams, "Not renewed. " + *wrong + '\n');
      return ExitStatus::no;
    }
    named = old->setting;
  }
  table::AdoptionCase adoption =
      table::weigh_adoption(shop, evidence, surfaces, glass, machine.name, named, record);
  std::optional<shop::Setting> base;
  if (adoption.proposed) base = adoption.proposed->setting;
  if (const auto dials = setting_from_options(arguments, machine, base)) {
    adoption = table::weigh_adoption(shop, evidence, surfaces, glass, machine.name, dials, record);
  }
  bar.reset();
  const bool adopted = adoption.proposed && (!adoption.needs_reason || !reason.empty());
  std::optional<table::HistoryRow> row;
  if (adopted) {
    row = table::adopted_row(adoption, by, reason, time_after_cures(shop, machine.name), kVersion);
    const InterruptDelay delay;
    if (const auto meanwhile = table::record(shop, *row, record.history)) {
      tell(streams, "Not adopted: while this was reckoned, " + table::change_text(*meanwhile) + " for " +
                        glass + " on " + machine.name +
                        ", so it was weighed against what is no longer in force. Give the command again if "
                        "it is still wanted.\n");
      return ExitStatus::no;
    }
  }
  if (arguments.has("json")) {
    streams.out << table::adoption_json(adoption, row ? &*row : nullptr);
  } else {
    streams.out << table::adoption_text(adoption, shop.units) << verdict(shop, adoption, reason, adopted);
  }
  return adopted ? ExitStatus::done : ExitStatus::no;
}

}  // namespace

Command table_adopt_command() {
  std::vector<OptionText> options{
      {"by", "NAME", "who adopts it (needed)", false},
      {"machine", "NAME", "the laser (needed where the glass is graded on several)", false},
      {"in-force", "", "the setting in force itself: judge it by what is known today", false},
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
      "(exit status 1) when nothing of the glass is graded on that machine or the setting lies well outside "
      "what was burned. A first setting is also refused when its chance is under the shop's target, or the "
      "low end of its 90 % interval is more than " +
          textfile::format_fixed(table::kFirstSlack, 2) +
          " under it. When another setting is in force, what counts instead is that new is better with a "
          "probability of at least " +
          textfile::format_fixed(table::kBetterBar, 2) +
          ", and that another machine's surface does not speak against it while fewer than 24 swatches are "
          "graded on this one. After a setting was found stale it also refuses until 6 further swatches are "
          "graded (or, for that very setting, 12 pieces logged that come out as promised), or a cured fault "
          "is "
          "recorded that explains it (`log --cured`). --reason "
          "overrules that, is kept with the row, and makes it provisional. When somebody else changed what "
          "is "
          "in force while it was fitting, nothing is written, whatever the reason.\n\n"
          "--in-force renews the numbers and the status of the setting in force, for better or worse.\n\n"
          "Without dials: the best setting of `fit`. Dials that you don't name are those of the best "
          "setting.\n\n"
          "Every adoption is kept in results/settings-history.csv; `table restore` goes back.",
      options,
      run_adopt};
}

}  // namespace frostcal::cli
