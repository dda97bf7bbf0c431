#include <cmath>
#include <nlohmann/json.hpp>
#include <ostream>
#include <set>

#include "choice/evidence_count.hpp"
#include "choice/glass_choice.hpp"
#include "cli/art_option.hpp"
#include "cli/commands.hpp"
#include "cli/fit_pairs.hpp"
#include "cli/message.hpp"
#include "cli/progress_bar.hpp"
#include "cli/setting_options.hpp"
#include "cli/shop_reading.hpp"
#include "cli/terminal.hpp"
#include "cli/write_pdf.hpp"
#include "report/choice_text.hpp"
#include "report/job_card.hpp"
#include "sheet/caution_text.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"
#include "table/adoption.hpp"
#include "table/carry.hpp"
#include "table/job_estimate.hpp"
#include "table/setting_json.hpp"
#include "table/settings_table.hpp"
#include "table/table_text.hpp"
#include "table/turnaround.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "textfile/wrapped_text.hpp"

namespace frostcal::cli {

using shop::length_text;
using textfile::format_fixed;
using textfile::format_number;
using textfile::labelled_line;

namespace {

// The setting that a job is asked for: the row in force, or the same at another tone or screen, which then
// holds what is believed of it today.
struct AskedSetting {
  table::ShownRow shown;
  std::optional<shop::Setting> adopted;  // where that is another
  std::set<double> tones;                // then: in percent, that this glass was burned at
  bool enough_learned = false;           // since it was found stale
  std::string status() const { return adopted ? "not adopted" : table::to_text(shown.row.status); }
};

// What is believed today is another chance than the row's: swatches and pieces came since, or shop.toml has
// another bar. A stale row's promise is broken, however near. What is not adopted promised nothing.
bool differs_today(const AskedSetting& asked, const table::JobEstimate& job) {
  const table::SettingsRow& row = asked.shown.row;
  return job.by_surface && !asked.adopted &&
         (row.status == table::Status::stale ||
          textfile::shown_chance(job.chance_now) != textfile::shown_chance(row.chance));
}

// Why the row should be renewed, if it should.
std::string renewal_cause(const shop::Shop& shop, const AskedSetting& asked, const table::JobEstimate& job) {
  constexpr double kFar = 0.03;
  const table::SettingsRow& row = asked.shown.row;
  if (!job.by_surface || asked.adopted || impossible_now(shop, row.machine, row.setting)) return "";
  if (asked.shown.rests_on_them) return "the row rests on pieces that are set aside";
  if (row.status == table::Status::stale) {
    return asked.shown.excused    ? "it was found stale by pieces that are set aside"
           : asked.enough_learned ? "enough was learned since it was found stale"
                                  : "";
  }
  if (job.chance_now < row.chance - kFar) return "the row promises more than is believed today";
  // A settled row's promise is held back on purpose (log), so that its pieces go on testing it.
  const bool held_back = row.status == table::Status::settled && row.chance >= shop.acceptance.chance;
  if (job.chance_now > row.chance + kFar && !held_back) return "the row promises less than is believed today";
  return "";
}

std::string tone_text(const shop::Setting& setting) {
  return shop::dial_text(setting.tone_pct) + " % " + setting.screen;
}

// What is special about this job; the cautions that always hold come after it.
std::vector<std::string> job_warnings(const shop::Shop& shop, const AskedSetting& asked,
                                      const table::JobEstimate& job) {
  const table::ShownRow& shown = asked.shown;
  const table::SettingsRow& row = shown.row;
  const double target = shop.acceptance.chance;
  std::vector<std::string> lines;
  if (const auto wrong = impossible_now(shop, row.machine, row.setting)) lines.push_back(*wrong);
  if (row.chance < target || (job.by_surface && job.chance_now < target)) {
    lines.push_back("The chance of a good piece is under the shop's target of " +
                    textfile::shown_bar(target) + ".");
  }
  if (job.by_surface && job.chance_whole < target && job.chance_now >= target) {
    const table::ArtPlace& worst = job.places[job.worst];
    lines.push_back("The bottle tapers: over the whole art the chance of a good piece is " +
                    textfile::number_under(job.chance_whole, target) + " (by the " + worst.name + " alone " +
                    textfile::shown_chance(*worst.chance) + "), under the shop's target of " +
                    textfile::shown_bar(target) +
                    ". Lower art keeps nearer to the dose of the panel's centre.");
  }
  if (row.status == table::Status::stale) {
    lines.push_back(
        shown.excused
            ? "The setting was found stale by pieces that are set aside: renew it, and burn one on a "
              "scrap bottle first."
        : asked.enough_learned
            ? "The setting was found stale, and enough was learned since: renew it, and burn one on a scrap "
              "bottle first."
            : "The setting is stale: pieces come out worse than promised. Burn a grid first.");
  }
  std::vector<std::string> tones;
  for (const double tone : asked.tones) tones.push_back(shop::dial_text(tone));
  if (asked.adopted && row.status != table::Status::stale) {
    lines.push_back("The setting in force was adopted for " + tone_text(*asked.adopted) + ", not for " +
                    tone_text(row.setting) + ", and this glass was burned " +
                    (tones.size() == 1 ? "only at a tone of " : "at tones of ") + textfile::listed(tones) +
                    " %: burn one on a scrap bottle first.");
  } else if (row.status == table::Status::provisional) {
    lines.push_back("The setting is provisional: burn one on a scrap bottle first.");
  }
  constexpr double kTinyMm = 12;  // no art is that small both ways; many are so many inches
  if (job.art.width_mm < kTinyMm && job.art.height_mm < kTinyMm) {
    lines.push_back("The art is only " + format_fixed(job.art.width_mm, 1) + " x " +
                    format_fixed(job.art.height_mm, 1) + " mm: if those are inches, say --units in.");
  }
  lines.insert(lines.end(), job.warnings.begin(), job.warnings.end());
  return lines;
}

std::string job_json(const shop::Shop& shop, const AskedSetting& asked, const table::JobEstimate& job,
                     const table::Turnaround& turnaround, const std::vector<std::string>& cautions) {
  const table::ShownRow& shown = asked.shown;
  const table::SettingsRow& row = shown.row;
  nlohmann::ordered_json root;
  root["schema"] = "frostcal.job/1";
  root["glass"] = row.glass;
  root["machine"] = row.machine;
  root["setting"] = table::setting_json(row.setting);
  root["chance"] = row.chance;
  root["chance_low"] = row.chance_low;
  root["chance_high"] = row.chance_high;
  root["status"] = asked.status();
  root["art_mm"] = {job.art.width_mm, job.art.height_mm};
  root["fits"] = job.fits;
  root["misfits"] = job.misfits;
  root["round_deg"] = job.round_deg;
  root["lines"] = job.lines;
  root["burn_seconds"] = job.burn_seconds;
  root["turnaround_s"] = turnaround.seconds;
  root["turnaround_shop_s"] = turnaround.shop_seconds;
  root["timed_burns"] = turnaround.burns;
  root["timed_burns_unused"] = turnaround.unused.size();
  root["pieces_per_hour"] = job.pieces_per_hour;
  root["dose_j_mm2"] = job.dose_j_mm2;
  root["pieces"] = job.pieces;
  root["batch_by"] = job.by_surface ? "surface" : "row";
  root["chance_now"] = job.chance_now;
  root["chance_whole_art"] = job.chance_whole;
  root["chance_at_worst"] = job.places[job.worst].chance.value_or(job.chance_now);
  root["art_places"] = nlohmann::ordered_json::array();
  for (const table::ArtPlace& place : job.places) {
    nlohmann::ordered_json one;
    one["name"] = place.name;
    one["x_mm"] = place.x_mm;
    one["dose_ratio"] = place.dose_ratio;
    one["width_mm"] = place.width_mm;
    one["chance"] = place.chance ? nlohmann::ordered_json(*place.chance) : nlohmann::ordered_json();
    root["art_places"].push_back(one);
  }
  root["no_reject"] = job.no_reject;
  root["no_reject_low"] = job.no_reject_low;
  root["no_reject_high"] = job.no_reject_high;
  root["rejects"] = job.rejects;
  root["rejects_low"] = job.rejects_low;
  root["rejects_high"] = job.rejects_high;
  root["batch_burn_seconds"] = job.batch_burn_seconds;
  root["batch_seconds"] = job.batch_seconds;
  root["bottles_to_bring"] =
      job.bottles_to_bring > 0 ? nlohmann::ordered_json(job.bottles_to_bring) : nullptr;
  root["set_aside"] = shown.set_aside;
  root["renew_because"] = renewal_cause(shop, asked, job);
  root["cautions"] = cautions;
  return table::json_line(root);
}

// What the burn's time rests on, as lines; nothing when nobody timed a burn.
std::string turnaround_text(const table::Turnaround& turnaround) {
  const auto seconds = [](double value) { return format_fixed(value, value < 0.1 ? 4 : 2); };
  const std::string shop = format_number(turnaround.shop_seconds);
  if (turnaround.burns == 0) return "";
  if (!turnaround.calibrated) {
    return labelled_line("Line ends", shop + " s a line as shop.toml says; timed burns decide from " +
                                          std::to_string(table::kFewestTimedBurns) + " on (" +
                                          std::to_string(turnaround.burns) + " so far)");
  }
  std::string text =
      labelled_line("Line ends", seconds(turnaround.seconds) + " s a line, the median of " +
                                     std::to_string(turnaround.burns) + " timed burns (middle half " +
                                     seconds(turnaround.low) + " to " + seconds(turnaround.high) +
                                     "); shop.toml says " + shop);
  const bool far = std::abs(turnaround.seconds - turnaround.shop_seconds) > 0.2 * turnaround.shop_seconds;
  if (far) {
    text += labelled_line(
        "", "plan, fit, the table and the wall card still reckon with shop.toml: write turnaround_s = " +
                seconds(turnaround.seconds) + " there and renew the setting");
  }
  return text;
}

void report_unused(const table::Turnaround& turnaround, const Streams& streams) {
  if (turnaround.unused.empty()) return;
  std::vector<std::string> lines;
  for (const int line : turnaround.unused) lines.push_back(std::to_string(line));
  tell(streams,
       "results/pieces.csv line " + textfile::joined(lines) +
           ": a burn time that can't be true (shorter than scanning alone takes, or far longer); not "
           "used.\n");
}

std::string batch_text(const table::JobEstimate& job) {
  const std::string pieces = std::to_string(job.pieces);
  std::string text = labelled_line(
      "Batch", "no reject among " + pieces + ": " +
                   textfile::with_interval(job.no_reject, job.no_reject_low, job.no_reject_high));
  text += labelled_line("Rejects", "about " + format_fixed(job.rejects, job.rejects < 10 ? 1 : 0) + " of " +
                                       pieces + " (90 %: " + std::to_string(job.rejects_low) + " to " +
                                       std::to_string(job.rejects_high) + ")");
  text += labelled_line("Bring", job.bottles_to_bring == 0
                                     ? "more bottles than is sensible: the chance is too low"
                                     : std::to_string(job.bottles_to_bring) + " bottles, to end with " +
                                           pieces + " good ones 9 times in 10");
  text += labelled_line("Time", table::hours_text(job.batch_seconds) + " for " + pieces +
                                    " burns with handling, " + table::hours_text(job.batch_burn_seconds) +
                                    " of it burning; one more: " +
                                    format_fixed(job.batch_seconds / job.pieces / 60, 1) + " min");
  if (job.bottles_to_bring > 0 && job.rejects >= 0.5) {
    const double burns = job.pieces / (1 - job.rejects / job.pieces);
    text += labelled_line("", "about " + format_fixed(burns, 0) + " burns make " + pieces +
                                  " good ones: " + table::hours_text(job.batch_seconds / job.pieces * burns));
  }
  return text;
}

std::string job_text(const AskedSetting& asked, const table::JobEstimate& job,
                     const table::Turnaround& turnaround, shop::LengthUnit units, const shop::Shop& shop,
                     const std::vector<std::string>& cautions) {
  const table::ShownRow& shown = asked.shown;
  const table::SettingsRow& row = shown.row;
  std::string text = row.glass + " on " + row.machine + ", art " + length_text(job.art.width_mm, units) +
                     " round x " + length_text(job.art.height_mm, units) + " high\n";
  text += labelled_line("Setting", shop::to_text(row.setting) + " (" + asked.status() + ')');
  text +=
      labelled_line("Tone, screen", shop::dial_text(row.setting.tone_pct) + " %, " + row.setting.screen +
                                        (asked.adopted ? "; adopted for " + tone_text(*asked.adopted) : ""));
  text += labelled_line("Reaches", format_fixed(job.round_deg, 0) + " degrees round the bottle");
  for (const std::string& misfit : job.misfits) text += labelled_line("DOES NOT FIT", misfit);
  constexpr double kHugeDegrees =
      720;  // no art is meant to reach twice round; millimetres taken for inches do
  if (job.round_deg > kHugeDegrees && units == shop::LengthUnit::inch)
    text += labelled_line("", "if those are millimetres, say --units mm");
  text += labelled_line("Burn", std::to_string(job.lines) + " lines, " +
                                    format_fixed(job.burn_seconds / 60, 1) + " min; about " +
                                    format_fixed(job.pieces_per_hour, 1) + " burns per hour with handling");
  text += turnaround_text(turnaround);
  text +=
      labelled_line("Chance", textfile::with_interval(row.chance, row.chance_low, row.chance_high) +
                                  " of a good piece" + (differs_today(asked, job) ? ", when adopted" : "") +
                                  (asked.adopted ? ", by all swatches and pieces so far" : ""));
  if (differs_today(asked, job)) {
    text += labelled_line("Today", textfile::shown_chance(job.chance_now) +
                                       " by all swatches and pieces so far and the present bar (" +
                                       report::bar_text(shop.acceptance) + ")");
  }
  if (const std::string cause = renewal_cause(shop, asked, job); !cause.empty()) {
    text += labelled_line("Renew it", cause + ':');
    text += labelled_line("", table::renewal_command(shop, row));
  }
  if (const std::string taper = table::taper_text(job, units); !taper.empty())
    text += labelled_line("Taper", taper);
  if (!shown.set_aside.empty()) text += labelled_line("Not counted", shown.set_aside);
  if (job.pieces > 1) text += batch_text(job);
  text += "Cautions\n";
  for (const std::string& caution : cautions)
    text += textfile::wrapped("  - " + caution, textfile::kWidest, 4) + '\n';
  return text;
}

report::JobCard card_of(const shop::Shop& shop, const shop::Machine& machine, const shop::Glass& glass,
                        const shop::Vessel& vessel, const AskedSetting& asked, const table::JobEstimate& job,
                        shop::LengthUnit units) {
  const table::SettingsRow& row = asked.shown.row;
  report::JobCard card;
  card.units = units;
  card.taper = table::taper_text(job, units);
  card.shop = shop.name;
  card.date = now_text().substr(0, 10);
  card.machine = machine.name;
  card.status = asked.status();
  card.glass = glass;
  card.vessel = vessel;
  card.neck = machine.rotary.neck;
  card.setting = row.setting;
  card.chance = row.chance;
  if (differs_today(asked, job)) card.chance_today = job.chance_now;
  // That of the day of adoption says nothing where the chance is under the target today.
  if (!job.by_surface || job.chance_whole >= shop.acceptance.chance) card.tolerance_pct = row.tolerance_pct;
  card.art_width_mm = job.art.height_mm;  // the card lies as the bottle does: its width is along the axis
  card.art_height_mm = job.art.width_mm;
  card.lines = job.lines;
  card.burn_seconds = job.burn_seconds;
  card.warnings = job_warnings(shop, asked, job);
  card.pieces = job.pieces;
  card.no_reject = job.no_reject;
  card.rejects = job.rejects;
  card.batch_seconds = job.batch_seconds;
  card.bottles_to_bring = job.bottles_to_bring;
  return card;
}

shop::Setting setting_asked(const Arguments& arguments, const shop::Machine& machine,
                            const shop::Setting& adopted) {
  shop::Setting setting = adopted;
  setting.tone_pct = arguments.number("tone", 0.01, 100, setting.tone_pct, Unit::percent);
  setting.screen = arguments.text("screen", setting.screen);
  if (!shop::same_setting(setting, adopted)) refuse_impossible(machine, setting);
  return setting;
}

struct FittedBatch {
  bool known = false;  // the glass has swatches or pieces on the machine; else another one speaks for it
  std::optional<table::ArtChance> chance;
  std::optional<std::string> doubt;  // what the newest bottles say against it
  bool enough_learned = false;       // since the row in force was found stale
  // Only for another setting than the row's:
  double tolerance_pct = 0;
  std::set<double> tones;  // in percent, of the glass's swatches and pieces here
};

// By the machine that knows most of the glass, where this one knows nothing; none where no machine does.
std::optional<table::ArtChance> carried_art(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                                            const surface::ShopSurface& surfaces,
                                            const table::SettingsRow& row,
                                            const std::vector<surface::PhysicalSetting>& settings) {
  const shop::Machine* from = table::teaching_machine(shop, evidence, row.glass, row.machine);
  if (from == nullptr) return std::nullopt;
  const shop::Machine& to = shop.machine(row.machine);
  const surface::MachineMove move =
      table::move_between(*from, to, table::delivered_share(surfaces, *from, to));
  const surface::GlassSurface& learned = surfaces.glass(surface::surface_name(row.glass, from->name));
  table::ArtChance carried;
  for (const surface::PhysicalSetting& at : settings)
    carried.places.push_back(table::carried_chance(learned, std::vector{at}, move));
  carried.whole = table::carried_batch(learned, settings, move);
  return carried;
}

// What the surface says of a batch today, for each place of the art; nothing where the glass has none.
FittedBatch fitted_batch(const shop::Shop& shop, const table::TableRecord& record,
                         const table::SettingsRow& row, const shop::Setting& setting,
                         const shop::Vessel& vessel, const table::ArtSize& art, const Streams& streams) {
  const surface::ShopEvidence evidence = read_evidence(shop, streams);
  const ProgressBar bar(streams, "Fitting " + row.glass);
  const surface::ShopSurface surfaces = surface::fit_shop(shop, evidence.observations);
  FittedBatch fitted;
  std::vector<surface::PhysicalSetting> settings;
  for (const table::ArtPlace& place : table::art_places(vessel, art)) {
    settings.push_back(surface::physical_setting(setting, shop.machine(row.machine), vessel, place.x_mm));
  }
  const std::string name = surface::surface_name(row.glass, row.machine);
  const choice::EvidenceCount count = choice::count_evidence(evidence, name);
  fitted.known = count.swatches + count.pieces > 0;
  if (!fitted.known) {
    fitted.chance = carried_art(shop, evidence, surfaces, row, settings);
    return fitted;
  }
  fitted.chance = {surfaces.glass(name).chance(settings), table::drawn_batch(surfaces.glass(name), settings)};
  fitted.doubt = table::doubt_of_newest(surfaces.glass(name), evidence.observations);
  if (row.status == table::Status::stale &&
      !table::lacks_news(record, evidence, row.glass, row.machine, shop.acceptance)) {
    fitted.enough_learned =
        !table::weigh_adoption(shop, evidence, surfaces, row.glass, row.machine, row.setting, record)
             .needs_reason;
  }
  if (shop::same_setting(setting, row.setting)) return fitted;
  fitted.tolerance_pct =
      choice::describe_setting(setting, shop.machine(row.machine), surfaces.glass(name), shop.acceptance)
          .tolerance_pct;
  for (const surface::Observation& seen : evidence.observations)
    if (seen.glass == name) fitted.tones.insert(100 * seen.setting.tone);
  return fitted;
}

// What the grades say of that setting today, in the place of what was adopted.
AskedSetting asked_at(const table::ShownRow& in_force, const shop::Setting& setting,
                      const FittedBatch& fitted) {
  if (shop::same_setting(setting, in_force.row.setting))
    return {in_force, std::nullopt, {}, fitted.enough_learned};
  AskedSetting asked{in_force, in_force.row.setting, fitted.tones, fitted.enough_learned};
  asked.shown.row.setting = setting;
  const surface::ChanceInterval& today = fitted.chance->places.front();
  asked.shown.row.chance = today.chance;
  asked.shown.row.chance_low = today.low;
  asked.shown.row.chance_high = today.high;
  asked.shown.row.tolerance_pct = fitted.tolerance_pct;
  return asked;
}

ExitStatus run_job(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const shop::LengthUnit units = read_units(arguments, shop.units);
  const table::ArtSize art = read_art(arguments, units);
  const shop::Glass& glass = shop.glass(arguments.operands.at(0));
  const table::TableRecord record = read_record(shop, streams);
  const shop::Machine& machine = machine_in_force(arguments, shop, record.history, glass.name);
  const shop::Vessel& vessel = shop.vessel(arguments.text("vessel", glass.vessel));
  const auto row = table::in_force(record.history, glass.name, machine.name);
  if (!row) {
    tell(streams, "No setting is in force for " + glass.name + " on " + machine.name + ". First:  " +
                      shop::command_for(
                          shop, "table adopt " + glass.name + " --machine " + machine.name + " --by NAME") +
                      '\n');
    return ExitStatus::no;
  }
  const shop::Paper paper = read_paper(arguments, shop.paper);
  if (arguments.has("paper") && !arguments.has("card")) throw UsageError("--paper needs --card FILE.pdf");
  const auto pieces = static_cast<int>(arguments.integer("pieces", 1, 10000, 1));
  const double handling =
      60 * arguments.number("handling", 0, 600, table::kHandlingSeconds / 60, Unit::minutes);
  const shop::Setting setting = setting_asked(arguments, machine, row->setting);
  const table::ShownRow in_force = table::shown_rows({*row}, record, shop.acceptance).front();
  const table::Turnaround turnaround = table::estimate_turnaround(record.logged.all, machine);
  shop::Machine timed = machine;
  timed.turnaround_s = turnaround.seconds;
  const FittedBatch fitted = fitted_batch(shop, record, *row, setting, vessel, art, streams);
  if (!shop::same_setting(setting, row->setting) && !fitted.known) {
    throw UsageError("--tone: " + glass.name + " has no graded swatch on " + machine.name +
                     ", so only the setting in force can be quoted, at " + tone_text(row->setting));
  }
  const AskedSetting asked = asked_at(in_force, setting, fitted);
  table::JobEstimate job =
      table::estimate_job(asked.shown.row, timed, vessel, art, pieces, handling, fitted.chance, units);
  if (fitted.doubt) {
    job.warnings.push_back("Of the chance: " + *fitted.doubt +
                           ". Burn one on a scrap bottle like those in hand first.");
  }
  std::vector<std::string> cautions = job_warnings(shop, asked, job);
  for (const std::string& always : sheet::cautions(glass)) cautions.push_back(always);
  if (job.fits && arguments.has("card")) {
    report::JobCard card = card_of(shop, machine, glass, vessel, asked, job, units);
    card.paper = paper;
    write_pdf(arguments.text("card"), "Job card: " + glass.name, {report::job_card(card)});
  }
  streams.out << (arguments.has("json") ? job_json(shop, asked, job, turnaround, cautions)
                                        : job_text(asked, job, turnaround, units, shop, cautions));
  if (job.fits && arguments.has("card")) tell(streams, "Wrote " + arguments.text("card") + '\n');
  report_unused(turnaround, streams);
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
      "lines and minutes, pieces per hour; of a batch, how likely it is to have no reject, how many rejects "
      "to "
      "expect, bottles to bring and hours: its bottles share one chance that is not exactly known, the day "
      "and "
      "the person who looks at them.\n\n"
      "--tone asks for art at another tone than the one adopted, with the same power, speed and dpi; the "
      "chance "
      "is then what all grades of the glass say of it today.\n\n"
      "On a taper the dose changes along the art, as the rotary turns by angle: the answer says how far at "
      "both ends, and piece and batch are judged by frost where its chance is least and by chipping where "
      "its own is.\n\n"
      "Minutes follow from lines, speed and the time lost at the end of each line. Once three burns on the "
      "machine were timed (log --minutes), that time is the median of what they took, and the answer "
      "says how it differs from shop.toml.\n\n"
      "The chance is the one in the row, as it was when adopted, and beside it today's by all grades, pieces "
      "and "
      "the present bar of shop.toml where that differs as printed or the setting is stale; where it is time "
      "to "
      "renew the row, the answer says why.\n\n"
      "Exit status 1 when no setting is in force or the art does not fit (no card is written then).",
      {{"art", "WxH", "size of the art, such as 76.2x50 (needed)", false},
       {"units", "UNIT", "mm or in, for --art and for what is shown (default: the shop's)", false},
       {"vessel", "NAME", "the bottle shape (default: the glass's own)", false},
       {"machine", "NAME", "the laser (needed where several have a setting for this glass)", false},
       {"tone", "PERCENT", "of lighter art (default: the setting's)", false},
       {"screen", "NAME", "its screen (default: the setting's)", false},
       {"pieces", "N", "size of the batch (default 1)", false},
       {"handling", "MINUTES", "to change bottles (default 2)", false},
       {"card", "FILE.pdf", "also write a card for the bench; an older PDF of that name is replaced", false},
       {"paper", "SIZE", "of the card: a4 or letter (default: the shop's)", false},
       {"json", "", "print one JSON object", false}},
      run_job};
}

}  // namespace frostcal::cli
