#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <ostream>

#include "choice/evidence_count.hpp"
#include "choice/glass_choice.hpp"
#include "cli/commands.hpp"
#include "cli/message.hpp"
#include "cli/progress_bar.hpp"
#include "cli/shop_reading.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"
#include "table/adoption.hpp"
#include "table/carry.hpp"
#include "table/setting_json.hpp"
#include "table/settings_table.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "textfile/shell_word.hpp"

namespace frostcal::cli {

using textfile::counted;
using textfile::format_fixed;
using textfile::labelled_line;

namespace {

choice::EvidenceCount known_of(const surface::ShopEvidence& evidence, const std::string& glass,
                               const std::string& machine) {
  return choice::count_evidence(evidence, surface::surface_name(glass, machine));
}

std::string known_text(const choice::EvidenceCount& known, const std::string& machine) {
  return counted(known.swatches, "swatch", "swatches") + " graded on " + machine +
         (known.pieces > 0 ? " and " + counted(known.pieces, "piece", "pieces") + " logged there" : "");
}

// The machine that teaches most: the one named, else the one with most graded swatches of the glass.
const shop::Machine* teacher(const Arguments& arguments, const shop::Shop& shop,
                             const surface::ShopEvidence& evidence, const std::string& glass,
                             const std::string& to) {
  if (const auto named = arguments.find("from")) {
    if (*named == to) throw UsageError("--from and --to name the same machine");
    return &shop.machine(*named);
  }
  return table::teaching_machine(shop, evidence, glass, to);
}

struct Carried {
  shop::Setting setting;
  std::string way;                                // "surface" or "dials"
  std::optional<surface::ChanceInterval> chance;  // by the surface of the teacher, with doubt
  std::optional<table::CarryRatios> ratios;       // against the row in force on the teacher
  choice::EvidenceCount known;                    // on the teacher
  std::string adopt;                              // the command that puts it in force meanwhile
  std::string plan;                               // the command that plans the grid
  std::string adopt_from;                         // the machine whose surface `table adopt` asks, if another
  std::optional<surface::ChanceInterval> adopt_chance;  // what that one gives
  double doubt_pct = 0;
  double delivered = 1;  // table::delivered_share of the teacher
};

// The grid that confirms it: the planner leans on the other machine's surface.
std::string plan_words(const shop::Shop& shop, const std::string& glass, const shop::Machine& to) {
  return shop::command_for(shop,
                           "plan " + glass + " --machine " + to.name + " --design targeted --swatches 12");
}

// Puts it in force meanwhile, so that the grid's fit replaces it only for a setting that is better.
std::string adopt_words(const shop::Shop& shop, const std::string& glass, const shop::Machine& from,
                        const shop::Machine& to, const shop::Setting& setting) {
  return shop::command_for(
      shop, "table adopt " + glass + " --machine " + to.name + " --power " +
                shop::dial_text(setting.power_pct) + " --speed " + shop::dial_text(setting.speed_pct) +
                " --dpi " + std::to_string(setting.dpi) + " --tone " + shop::dial_text(setting.tone_pct) +
                " --screen " + textfile::shell_word(setting.screen) + " --passes " +
                std::to_string(setting.passes) + " --reason " +
                textfile::shell_word("carried from " + from.name) + " --by NAME");
}

std::string carry_json(const std::string& glass, const shop::Machine& from, const shop::Machine& to,
                       const Carried& carried) {
  using Json = nlohmann::ordered_json;
  Json root;
  root["schema"] = "frostcal.carry/1";
  root["glass"] = glass;
  root["from"] = from.name;
  root["to"] = to.name;
  root["way"] = carried.way;
  root["setting"] = table::setting_json(carried.setting);
  root["chance"] = carried.chance ? Json(carried.chance->chance) : Json(nullptr);
  root["chance_low"] = carried.chance ? Json(carried.chance->low) : Json(nullptr);
  root["chance_high"] = carried.chance ? Json(carried.chance->high) : Json(nullptr);
  root["dose_ratio"] = carried.ratios ? Json(carried.ratios->dose) : Json(nullptr);
  root["heat_ratio"] = carried.ratios ? Json(carried.ratios->heat) : Json(nullptr);
  root["pitch_ratio"] = carried.ratios ? Json(carried.ratios->pitch) : Json(nullptr);
  root["doubt_pct"] = carried.doubt_pct;
  root["delivered_share"] = carried.delivered;
  root["adopt_from"] = carried.adopt_chance ? Json(carried.adopt_from) : Json(nullptr);
  root["adopt_chance"] = carried.adopt_chance ? Json(carried.adopt_chance->chance) : Json(nullptr);
  root["adopt"] = carried.adopt;
  root["plan"] = carried.plan;
  return table::json_line(root);
}

std::string carry_text(const std::string& glass, const shop::Machine& from, const shop::Machine& to,
                       const Carried& carried) {
  std::string text = glass + ": from " + from.name + " to " + to.name + '\n';
  text += labelled_line("Start with", shop::to_text(carried.setting));
  text += labelled_line("Rests on", carried.way == "surface" ? known_text(carried.known, from.name)
                                                             : "the setting in force on " + from.name +
                                                                   ", same dose, heat and pitch");
  if (carried.chance) {
    text += labelled_line(
        "Chance", textfile::with_interval(carried.chance->chance, carried.chance->low, carried.chance->high) +
                      ", if the glass answers there as here");
  }
  if (carried.adopt_chance) {
    const surface::ChanceInterval& told = *carried.adopt_chance;
    text +=
        labelled_line(carried.chance ? "" : "Chance",
                      "table adopt will say " + textfile::with_interval(told.chance, told.low, told.high) +
                          ": by " + carried.adopt_from + ", which knows most of " + glass);
  }
  text +=
      labelled_line("Doubt", "power at the glass is known to about " + format_fixed(carried.doubt_pct, 0) +
                                 " % between the two (rated power, spot)");
  constexpr double kWorthSaying = 0.03;
  if (std::abs(std::log(carried.delivered)) > kWorthSaying) {
    text += labelled_line(
        "Power", from.name + " delivers about " + format_fixed(100 * carried.delivered, 0) +
                     " % of what it did on its first graded day, as far as grades tell; this setting is "
                     "for " +
                     to.name + " with the power that shop.toml gives it");
  }
  if (carried.ratios) {
    text += labelled_line("Compared", "with the setting in force on " + from.name + ": dose x " +
                                          format_fixed(carried.ratios->dose, 2) + ", heat x " +
                                          format_fixed(carried.ratios->heat, 2) + ", pitch per spot x " +
                                          format_fixed(carried.ratios->pitch, 2));
  }
  text += labelled_line("Meanwhile", carried.adopt);
  return text + labelled_line("Confirm", carried.plan);
}

ExitStatus run_carry(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::string& glass = shop.glass(arguments.operands.at(0)).name;
  if (!arguments.has("to")) throw UsageError("--to is missing: name the machine to carry the setting to");
  const shop::Machine& to = shop.machine(arguments.text("to"));
  const surface::ShopEvidence evidence = read_evidence(shop, streams);
  const shop::Machine* from = teacher(arguments, shop, evidence, glass, to.name);
  if (from == nullptr) {
    tell(streams, "No swatch of " + glass + " is graded on another machine, so there is nothing to carry. " +
                      "Burn an opening grid:  " + shop::plan_command(shop, glass, to.name) + '\n');
    return ExitStatus::no;
  }
  const auto row = table::in_force(read_history(shop, streams), glass, from->name);
  Carried carried;
  carried.known = known_of(evidence, glass, from->name);
  carried.doubt_pct = 100 * table::carry_doubt(*from, to);
  std::optional<ProgressBar> bar(std::in_place, streams, "Fitting " + glass);
  const surface::ShopSurface surfaces = surface::fit_shop(shop, evidence.observations);
  const surface::GlassSurface& learned = surfaces.glass(surface::surface_name(glass, from->name));
  bar.reset();
  const bool anything = carried.known.swatches + carried.known.pieces > 0;
  const table::CarriedSetting chosen = table::carried_setting(evidence, surfaces, glass, *from, to, row);
  carried.way = chosen.by_surface ? "surface" : "dials";
  carried.delivered = chosen.delivered;
  const std::optional<shop::Setting>& setting = chosen.setting;
  if (!setting) {
    tell(streams, chosen.by_surface || row
                      ? to.name + " accepts no such setting: its dose limit forbids all.\n"
                      : "Nothing is known of " + glass + " on " + from->name + ".\n");
    return ExitStatus::no;
  }
  carried.setting = *setting;
  if (anything) carried.chance = table::carried_chance(learned, *setting, *from, to, carried.delivered);
  if (row) carried.ratios = table::carry_ratios(row->setting, *from, *setting, to);
  carried.adopt = adopt_words(shop, glass, *from, to, carried.setting);
  carried.plan = plan_words(shop, glass, to);
  const choice::EvidenceCount own = known_of(evidence, glass, to.name);
  const shop::Machine* knows_most = table::teaching_machine(shop, evidence, glass, to.name);
  if (own.swatches + own.pieces == 0 && knows_most != nullptr && knows_most != from) {
    carried.adopt_from = knows_most->name;
    carried.adopt_chance =
        table::carried_chance(surfaces.glass(surface::surface_name(glass, knows_most->name)), *setting,
                              *knows_most, to, table::delivered_share(surfaces, *knows_most, to));
  }
  if (own.swatches + own.pieces > 0) {
    tell(streams, "This leaves out what " + to.name + " itself knows of " + glass + ": " +
                      known_text(own, to.name) + "; see also  " +
                      shop::command_for(shop, "fit " + glass + " --machine " + to.name) + '\n');
  }
  streams.out << (arguments.has("json") ? carry_json(glass, *from, to, carried)
                                        : carry_text(glass, *from, to, carried));
  return ExitStatus::done;
}

}  // namespace

Command carry_command() {
  return {
      "carry",
      "GLASS",
      1,
      1,
      "predict a starting setting on another machine, and the grid that confirms it",
      "What was learned of the glass on one machine, in W, mm/s and mm, is asked about the settings that the "
      "other accepts, scaled by the spots, with added doubt about rated power and spot. With fewer than 12 "
      "graded swatches the "
      "setting in force is translated dial by dial instead: same dose, same heat (power over the root of "
      "speed), same line pitch, as near as the dials allow.\n\n"
      "A carried setting is a start, not a setting for customers. Put it in force with the command that is "
      "printed (it stays provisional), then burn the targeted grid: `table adopt` then replaces it only by a "
      "setting that is better with probability " +
          format_fixed(table::kBetterBar, 2) +
          ". What `fit` says of the other machine leans on the first one from then on, as long as its own "
          "grades bear that out. Writes nothing.\n\nExit status 1 when there is nothing to carry.",
      {{"to", "MACHINE", "the machine that the setting is wanted for (needed)", false},
       {"from", "MACHINE", "the machine it was learned on (default: the one with most grades)", false},
       {"json", "", "print one JSON object", false}},
      run_carry};
}

}  // namespace frostcal::cli
