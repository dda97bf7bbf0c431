#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/terminal.hpp"
#include "cli/write_pdf.hpp"
#include "errors/user_error.hpp"
#include "report/job_card.hpp"
#include "sheet/caution_text.hpp"
#include "shop/shop_file.hpp"
#include "table/job_estimate.hpp"
#include "table/settings_table.hpp"
#include "textfile/number_text.hpp"

namespace frostcal::cli {

using textfile::format_fixed;
using textfile::format_number;

namespace {

shop::LengthUnit read_units(const Arguments& arguments, shop::LengthUnit fallback) {
  const auto word = arguments.find("units");
  if (!word) return fallback;
  if (*word == "mm") return shop::LengthUnit::mm;
  if (*word == "in") return shop::LengthUnit::inch;
  throw UsageError("--units: found " + errors::quoted(*word) + ", expected mm or in");
}

// "76.2x50": round the bottle x along its axis.
table::ArtSize read_art(const std::string& text, shop::LengthUnit units) {
  const std::size_t cross = text.find('x');
  const double scale = units == shop::LengthUnit::inch ? shop::kMmPerInch : 1;
  const auto part = [&](const std::string& words) {
    return scale * textfile::parse_number(words).value_or(0);  // 0 is refused below
  };
  table::ArtSize art;
  art.width_mm = part(text.substr(0, cross));
  art.height_mm = cross == std::string::npos ? 0 : part(text.substr(cross + 1));
  const auto sensible = [](double mm) { return mm > 0 && mm <= 2000; };
  if (!sensible(art.width_mm) || !sensible(art.height_mm)) {
    throw UsageError("--art: found " + errors::quoted(text) +
                     ", expected WIDTHxHEIGHT such as 76.2x50, up to 2000 mm");
  }
  return art;
}

std::string length_text(double mm, shop::LengthUnit units) {
  return units == shop::LengthUnit::inch ? format_fixed(mm / shop::kMmPerInch, 2) + " in"
                                         : format_fixed(mm, 1) + " mm";
}

std::vector<std::string> all_cautions(const shop::Glass& glass, const table::SettingsRow& row,
                                      const table::JobEstimate& job) {
  std::vector<std::string> lines;
  if (row.status == table::Status::stale) {
    lines.push_back("The setting is stale: pieces come out worse than promised. Burn a grid first.");
  }
  if (row.status == table::Status::provisional) {
    lines.push_back("The setting is provisional: burn one on a scrap bottle first.");
  }
  lines.insert(lines.end(), job.warnings.begin(), job.warnings.end());
  const std::vector<std::string> always = sheet::cautions(glass);
  lines.insert(lines.end(), always.begin(), always.end());
  return lines;
}

std::string job_json(const table::SettingsRow& row, const table::JobEstimate& job,
                     const std::vector<std::string>& cautions) {
  nlohmann::ordered_json root;
  root["schema"] = "frostcal.job/1";
  root["glass"] = row.glass;
  root["machine"] = row.machine;
  root["setting"] = {{"power_pct", row.setting.power_pct},
                     {"speed_pct", row.setting.speed_pct},
                     {"dpi", row.setting.dpi},
                     {"tone_pct", row.setting.tone_pct},
                     {"screen", row.setting.screen},
                     {"passes", row.setting.passes}};
  root["chance"] = row.chance;
  root["chance_low"] = row.chance_low;
  root["chance_high"] = row.chance_high;
  root["status"] = table::to_text(row.status);
  root["art_mm"] = {job.art.width_mm, job.art.height_mm};
  root["fits"] = job.fits;
  root["misfits"] = job.misfits;
  root["round_deg"] = job.round_deg;
  root["lines"] = job.lines;
  root["burn_seconds"] = job.burn_seconds;
  root["pieces_per_hour"] = job.pieces_per_hour;
  root["dose_j_mm2"] = job.dose_j_mm2;
  root["pieces"] = job.pieces;
  root["no_reject"] = job.no_reject;
  root["no_reject_low"] = job.no_reject_low;
  root["no_reject_high"] = job.no_reject_high;
  root["bottles_to_bring"] = job.bottles_to_bring;
  root["cautions"] = cautions;
  return root.dump() + '\n';
}

std::string line(const std::string& label, const std::string& text) {
  std::string padded = "  " + label;
  padded.resize(16, ' ');
  return padded + text + '\n';
}

std::string job_text(const table::SettingsRow& row, const table::JobEstimate& job, shop::LengthUnit units,
                     const std::vector<std::string>& cautions) {
  std::string text = row.glass + " on " + row.machine + ", art " + length_text(job.art.width_mm, units) +
                     " round x " + length_text(job.art.height_mm, units) + " high\n";
  text += line("Setting", shop::to_text(row.setting) + " (" + table::to_text(row.status) + ')');
  text += line("Tone, screen", format_number(row.setting.tone_pct) + " %, " + row.setting.screen);
  text += line("Reaches", format_fixed(job.round_deg, 0) + " degrees round the bottle");
  for (const std::string& misfit : job.misfits) text += line("DOES NOT FIT", misfit);
  text += line("Burn", std::to_string(job.lines) + " lines, " + format_fixed(job.burn_seconds / 60, 1) +
                           " min; about " + format_fixed(job.pieces_per_hour, 1) +
                           " pieces per hour with handling");
  text += line("Chance", format_fixed(row.chance, 2) + " (90 %: " + format_fixed(row.chance_low, 2) + " to " +
                             format_fixed(row.chance_high, 2) + ") of a good piece");
  if (job.pieces > 1) {
    text +=
        line("Batch", "no reject among " + std::to_string(job.pieces) + ": " +
                          format_fixed(job.no_reject, 2) + " (90 %: " + format_fixed(job.no_reject_low, 2) +
                          " to " + format_fixed(job.no_reject_high, 2) + ')');
    text += line("Bring", job.bottles_to_bring == 0
                              ? "more bottles than is sensible: the chance is too low"
                              : std::to_string(job.bottles_to_bring) + " bottles, to end with " +
                                    std::to_string(job.pieces) + " good ones 9 times in 10");
  }
  text += "Cautions\n";
  for (const std::string& caution : cautions) text += "  - " + caution + '\n';
  return text;
}

void write_card(const std::string& file, const shop::Shop& shop, const shop::Machine& machine,
                const shop::Glass& glass, const shop::Vessel& vessel, const table::SettingsRow& row,
                const table::JobEstimate& job, shop::LengthUnit units) {
  report::JobCard card;
  card.shop = shop.name;
  card.date = now_text().substr(0, 10);
  card.machine = machine.name;
  card.status = table::to_text(row.status);
  card.glass = glass;
  card.vessel = vessel;
  card.neck = machine.rotary.neck;
  card.setting = row.setting;
  card.chance = row.chance;
  card.tolerance_pct = row.tolerance_pct;
  card.art_width_mm = job.art.height_mm;  // the card lies as the bottle does: its width is along the axis
  card.art_height_mm = job.art.width_mm;
  card.lines = job.lines;
  card.burn_seconds = job.burn_seconds;
  card.units = units;
  write_pdf(file, "Job card: " + glass.name, {report::job_card(card)});
}

ExitStatus run_job(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const shop::LengthUnit units = read_units(arguments, shop.units);
  if (!arguments.has("art")) throw UsageError("--art is missing: give the size of the art, such as 76.2x50");
  const table::ArtSize art = read_art(arguments.text("art"), units);
  const shop::Glass& glass = shop.glass(arguments.operands.at(0));
  const shop::Machine& machine = shop.machine_or_default(arguments.text("machine"));
  const shop::Vessel& vessel = shop.vessel(arguments.text("vessel", glass.vessel));
  const auto row = table::in_force(table::read_history(shop), glass.name, machine.name);
  if (!row) {
    streams.err << "No setting is in force for " << glass.name << " on " << machine.name
                << ". First:  frostcal table adopt " << glass.name << " --by NAME\n";
    return ExitStatus::no;
  }
  const auto pieces = static_cast<int>(arguments.integer("pieces", 1, 10000, 1));
  const double handling = 60 * arguments.number("handling", 0, 600, table::kHandlingSeconds / 60);
  const table::JobEstimate job = table::estimate_job(*row, machine, vessel, art, pieces, handling);
  const std::vector<std::string> cautions = all_cautions(glass, *row, job);
  if (job.fits && arguments.has("card")) {
    write_card(arguments.text("card"), shop, machine, glass, vessel, *row, job, units);
  }
  streams.out << (arguments.has("json") ? job_json(*row, job, cautions)
                                        : job_text(*row, job, units, cautions));
  return job.fits ? ExitStatus::done : ExitStatus::no;
}

}  // namespace

Command job_command() {
  return {
      "job",
      "GLASS",
      1,
      1,
      "setting, burn time and cautions for a customer's piece",
      "Takes the setting in force and the size of the art as it looks on the standing bottle: WIDTH goes "
      "round the bottle, HEIGHT along its axis. Says whether it fits the panel, how far round it reaches, "
      "lines and minutes, pieces per hour, and how likely a batch is to have no reject.\n\n"
      "Exit status 1 when no setting is in force or the art does not fit (no card is written then).",
      {{"art", "WxH", "size of the art, such as 76.2x50 (needed)", false},
       {"units", "UNIT", "mm or in, for --art and for what is shown (default: the shop's)", false},
       {"vessel", "NAME", "the bottle shape (default: the glass's own)", false},
       {"machine", "NAME", "the laser (default: the first of shop.toml)", false},
       {"pieces", "N", "size of the batch (default 1)", false},
       {"handling", "MINUTES", "to change bottles (default 2)", false},
       {"card", "FILE.pdf", "also write a card for the bench", false},
       {"json", "", "print one JSON object", false}},
      run_job};
}

}  // namespace frostcal::cli
