#include <algorithm>
#include <nlohmann/json.hpp>
#include <ostream>

#include "choice/evidence_count.hpp"
#include "cli/art_option.hpp"
#include "cli/commands.hpp"
#include "cli/fit_pairs.hpp"
#include "cli/log_cured.hpp"
#include "cli/message.hpp"
#include "cli/progress_bar.hpp"
#include "cli/setting_options.hpp"
#include "cli/shop_reading.hpp"
#include "cli/terminal.hpp"
#include "cli/text_option.hpp"
#include "errors/user_error.hpp"
#include "grades/logged_pieces.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"
#include "table/adoption.hpp"
#include "table/counted_pieces.hpp"
#include "table/setting_json.hpp"
#include "table/settings_table.hpp"
#include "table/stale_check.hpp"
#include "table/table_text.hpp"
#include "table/turnaround.hpp"
#include "textfile/number_text.hpp"
#include "textfile/open_file.hpp"
#include "textfile/phrases.hpp"
#include "version.hpp"

namespace frostcal::cli {

namespace {

constexpr double kSuspicious = 0.5;  // share of the limit of the log's test

std::optional<grades::GradeRange> read_grade(const Arguments& arguments, const char* option, int grades) {
  if (!arguments.has(option)) return std::nullopt;
  return grades::GradeRange(static_cast<int>(arguments.integer(option, 0, grades - 1, 0)));
}

// The grades of --good, --frost and --chipping.
void read_outcome(const Arguments& arguments, const shop::Acceptance& acceptance, grades::PieceRow& piece) {
  piece.frost = read_grade(arguments, "frost", shop::kFrostGrades);
  piece.chipping = read_grade(arguments, "chipping", shop::kChippingGrades);
  if (arguments.has("good")) {
    const bool contradicted = (piece.frost && piece.frost->lowest < acceptance.frost) ||
                              (piece.chipping && piece.chipping->highest > acceptance.chipping);
    if (contradicted) throw UsageError("--good: the grade given with it is not acceptable in this shop");
    if (!piece.frost) piece.frost = grades::GradeRange(acceptance.frost, shop::kFrostGrades - 1);
    if (!piece.chipping) piece.chipping = grades::GradeRange(0, acceptance.chipping);
  }
  if (!piece.frost && !piece.chipping) {
    throw UsageError("how did it come out? Give --good, or --frost GRADE and --chipping GRADE");
  }
}

// --minutes and --art, which go together.
std::optional<grades::TimedBurn> read_burn(const Arguments& arguments, const shop::Shop& shop) {
  const shop::LengthUnit units = read_units(arguments, shop.units);
  if (!arguments.has("minutes")) {
    for (const char* option : {"art", "units"}) {
      if (arguments.has(option)) throw UsageError(std::string("--") + option + " needs --minutes");
    }
    return std::nullopt;
  }
  if (!arguments.has("art")) {
    throw UsageError("--minutes needs --art: the time says nothing without the size, such as --art 60x40");
  }
  const table::ArtSize art = read_art(arguments, units);
  constexpr double kShortest = 0.01;
  const double minutes =
      arguments.number("minutes", kShortest, grades::kLongestBurnSeconds / 60, 0, Unit::minutes);
  return grades::TimedBurn{60 * minutes, art.width_mm, art.height_mm};
}

// A time that can't be that of the art is a slip of the keys, and is not kept.
void refuse_impossible_time(const grades::PieceRow& piece, const shop::Machine& machine,
                            shop::LengthUnit units) {
  if (!piece.burn || table::is_possible(*piece.burn, piece.setting, machine)) return;
  const table::PossibleTime possible = table::possible_time(*piece.burn, piece.setting, machine);
  const auto minutes = [](double seconds) {
    return textfile::format_fixed(seconds / 60, seconds < 60 ? 2 : 1);
  };
  const bool shorter = piece.burn->seconds < possible.shortest;
  errors::Fault fault;
  fault.place.field = "--minutes";
  fault.found = textfile::format_number(piece.burn->seconds / 60) + " minutes for art of " +
                shop::length_text(piece.burn->art_width_mm, units) + " round the bottle x " +
                shop::length_text(piece.burn->art_height_mm, units) + " along it";
  fault.expected = minutes(possible.shortest) + " to " + minutes(possible.longest) + " minutes: " +
                   (shorter ? "scanning its lines alone takes longer"
                            : "no machine loses that much at the end of each line");
  fault.remedy =
      "give the time of one piece and the size that was burned, width round the bottle first; or "
      "leave out --minutes and --art";
  throw errors::UserError(fault);
}

// What a timed burn says of the machine.
std::string burn_text(const grades::PieceRow& piece, const shop::Machine& machine,
                      const table::Turnaround& turnaround) {
  const double implied = table::implied_turnaround(*piece.burn, piece.setting, machine);
  return "The burn lost " + textfile::format_fixed(std::max(0.0, implied), 2) +
         " s at the end of each line; shop.toml says " + textfile::format_fixed(machine.turnaround_s, 2) +
         " s.\nTimed burns on " + machine.name + ": " + std::to_string(turnaround.burns) +
         (turnaround.calibrated
              ? ", which job reckons with.\n"
              : "; job reckons with them from " + std::to_string(table::kFewestTimedBurns) + " on.\n");
}

// Older pieces are left out: they are part of what the promise rests on.
std::string counted_text(const table::StaleCheck& check, const table::SettingsRow& row,
                         const std::vector<grades::SetAside>& set_aside) {
  const std::string day = row.adopted_at.substr(0, 10);
  const std::string counted = check.pieces == 0 ? "No piece at the setting in force was logged "
                                                : std::to_string(check.rejects) + " of " +
                                                      textfile::counted(check.pieces, "piece", "pieces") +
                                                      " at the setting in force rejected ";
  const std::string aside = grades::set_aside_text(set_aside, row.glass, row.machine, row.adopted_at);
  const std::string end = (aside.empty() ? "" : " (" + aside + ')') + ".\n";
  const std::string chance = "a chance of " + textfile::shown_chance(row.chance) + " was promised";
  if (row.status != table::Status::stale) return counted + "since " + day + ", when " + chance + end;
  return "The setting in force is stale: its promise does not hold.\n" + counted +
         "since it was found so on " + day + "; " + chance + end;
}

// What to do about a stale setting. Whether it can be renewed is only reckoned when enough was learned since.
std::string stale_advice(const shop::Shop& shop, const table::SettingsRow& row,
                         const table::TableRecord& record, const Streams& streams) {
  const std::string renew = "renew it:  " + table::renewal_command(shop, row) + '\n';
  if (const auto cured = table::excuse(record, row, shop.acceptance)) {
    return "What made it so is set aside (" + cured->cure + "), so " + renew;
  }
  const surface::ShopEvidence evidence = surface::read_evidence(shop);
  const std::string plan = "  " + shop::plan_command(shop, row.glass, row.machine) + '\n';
  const std::string cured =
      "If a fault of the machine made it so and is cured, say it, and the pieces of those days count no "
      "longer:\n  " +
      cured_command(shop, row) + '\n';
  const auto since =
      table::since_stale(record, evidence, row.glass, row.machine, row.setting, shop.acceptance);
  if (since && !table::enough_since(*since, true)) {
    if (since->pieces.alarm) return "Its pieces still come out worse than promised. Burn a grid:" + plan;
    return cured + "Else burn a grid:" + plan + "From " + std::to_string(table::kFreshPieces) +
           " pieces on that come out as promised, log also says whether they are enough to renew it: the "
           "rejects count\ntoo, and may weigh more.\n";
  }
  const ProgressBar bar(streams, "Fitting " + row.glass);
  const surface::ShopSurface surfaces = surface::fit_shop(shop, evidence.observations);
  const table::AdoptionCase today =
      table::weigh_adoption(shop, evidence, surfaces, row.glass, row.machine, row.setting, record);
  if (!today.needs_reason) return "Enough was learned since, so " + renew;
  return "That is not enough to renew it yet, since the rejects count too: " +
         textfile::joined(today.objections, "; ") + ".\n" + cured + "Else burn a grid:" + plan;
}

std::string log_json(const grades::PieceRow& piece, long pieces, const std::optional<table::SettingsRow>& row,
                     const table::StaleCheck& check, bool settled, int set_aside) {
  using Json = nlohmann::ordered_json;
  Json root;
  root["schema"] = "frostcal.log/1";
  root["glass"] = piece.glass;
  root["machine"] = piece.machine;
  root["logged"] = pieces;
  root["promised"] = row ? Json(row->chance) : Json(nullptr);
  root["pieces"] = check.pieces;
  root["rejects"] = check.rejects;
  root["set_aside"] = set_aside;
  root["settled"] = settled || (row && row->status == table::Status::settled && !check.alarm);
  root["stale"] = check.alarm || (row && row->status == table::Status::stale);
  return table::json_line(root);
}

// A provisional row that is now supported becomes settled, by the same rule that would make it stale;
// otherwise nothing. The fit is only made when pieces, or swatches and bottles, are enough.
std::optional<table::HistoryRow> settled_row(const shop::Shop& shop, const table::SettingsRow& row,
                                             const table::TableRecord& record, const std::string& by,
                                             const std::string& logged_at, const Streams& streams) {
  if (row.status != table::Status::provisional) return std::nullopt;
  const surface::ShopEvidence evidence = surface::read_evidence(shop);
  const std::string name = surface::surface_name(row.glass, row.machine);
  const shop::Machine& machine = shop.machine(row.machine);
  const choice::EvidenceCount count = choice::count_evidence(evidence, name);
  const int here = choice::pieces_at(evidence, name, row.setting, machine);
  const bool enough = here >= table::kSettledPieces ||
                      (count.swatches >= table::kSettledSwatches && count.bottles >= table::kSettledBottles);
  if (!enough) return std::nullopt;
  const ProgressBar bar(streams, "Fitting " + row.glass);
  const surface::ShopSurface surfaces = surface::fit_shop(shop, evidence.observations);
  const table::AdoptionCase today =
      table::weigh_adoption(shop, evidence, surfaces, row.glass, row.machine, row.setting, record);
  if (today.status != table::Status::settled) return std::nullopt;
  const std::string renewed = later_than(logged_at);  // so that its pieces don't count against it
  // Held to a chance that its lucky pieces raised, the next ones would look worse than they are.
  table::HistoryRow settled = table::adopted_row(today, by, "", renewed, kVersion);
  table::SettingsRow& promised = settled.row;
  const double held_to = std::min(promised.chance, std::max(row.chance, shop.acceptance.chance));
  promised.chance_low = std::max(0.0, promised.chance_low - (promised.chance - held_to));  // as far below it
  promised.chance = held_to;
  promised.reason = table::settled_reason(here, row.reason);
  return settled;
}

/// Does what follows from pieces that are logged already.
template <typename Step>
auto after_logging(const shop::Shop& shop, const Streams& streams, const Step& step) {
  try {
    return step();
  } catch (...) {
    tell(streams,
         "The pieces are in " + textfile::shown(grades::pieces_layout(shop).path) +
             ": don't log them again. What follows from them could not be recorded; the next log tries it "
             "again.\n");
    throw;
  }
}

/// The setting named, else the one in force; nothing where there is neither.
std::optional<shop::Setting> read_setting(const Arguments& arguments, const shop::Machine& machine,
                                          const std::optional<table::SettingsRow>& row) {
  std::optional<shop::Setting> base;
  if (row) base = row->setting;
  const std::optional<shop::Setting> named = setting_from_options(arguments, machine, base);
  return named ? named : base;
}

/// Pieces that are on the disk, and what the log's test says now.
struct Logged {
  grades::PieceRow piece;
  long pieces = 0;
  table::TableRecord record;
  std::optional<table::SettingsRow> row;  // in force by that
  table::StaleCheck check;
  std::optional<table::StaleCheck> since_stale;  // of a row that was stale already
};

/// Judges the row in force by all pieces of the shop's files, and records that it is stale if it is.
void judge_pieces(const shop::Shop& shop, Logged& logged) {
  const grades::PieceRow& piece = logged.piece;
  for (bool again = true; again;) {  // where another row came meanwhile
    logged.record = read_whole_record(shop);
    logged.row = table::in_force(logged.record.history, piece.glass, piece.machine);
    const std::vector<grades::PieceRow>& counted = logged.record.logged.counted;
    logged.check =
        table::check_in_force(logged.record.history, counted, piece.glass, piece.machine, shop.acceptance);
    again = logged.check.alarm &&
            table::record(
                shop, table::stale_row(*logged.row, logged.check, {piece.by, "", piece.logged_at, kVersion}),
                logged.record.history);
    logged.since_stale.reset();
    if (logged.row && logged.row->status == table::Status::stale && logged.row->chance > 0) {
      logged.since_stale = table::check_after(counted, *logged.row, shop.acceptance);
    }
  }
}

/// All pieces, and that the row is stale if it is, or nothing.
Logged write_pieces(const shop::Shop& shop, const grades::PieceRow& piece, long pieces,
                    const Streams& streams) {
  const InterruptDelay delay;
  const textfile::TailRepair repair =
      grades::append_pieces(shop, std::vector<grades::PieceRow>(static_cast<std::size_t>(pieces), piece));
  tell_dropped(streams, grades::pieces_layout(shop), repair);
  Logged logged;
  logged.piece = piece;
  logged.pieces = pieces;
  after_logging(shop, streams, [&] { judge_pieces(shop, logged); });
  return logged;
}

/// What came of settling the row in force.
struct Settling {
  std::optional<table::HistoryRow> settled;    // recorded
  std::optional<table::HistoryRow> meanwhile;  // why it was not: no longer in force
};

/// Settles the row in force where the pieces do.
Settling settle(const shop::Shop& shop, const Logged& logged, const Streams& streams) {
  Settling settling;
  if (!logged.row || logged.check.pieces == 0 || logged.check.alarm) return settling;
  settling.settled =
      settled_row(shop, *logged.row, logged.record, logged.piece.by, logged.piece.logged_at, streams);
  if (!settling.settled) return settling;
  const InterruptDelay delay;
  settling.meanwhile = after_logging(
      shop, streams, [&] { return table::record(shop, *settling.settled, logged.record.history); });
  if (settling.meanwhile) settling.settled.reset();
  return settling;
}

/// What others changed since `history` was read.
std::string meanwhile_text(const Logged& logged, const std::vector<table::HistoryRow>& history) {
  const table::HistoryRow* was = table::newest_row(history, logged.piece.glass, logged.piece.machine);
  const table::HistoryRow* now =
      table::newest_row(logged.record.history, logged.piece.glass, logged.piece.machine);
  if (now == nullptr || (was != nullptr && was->link == now->link)) return "";
  return "Meanwhile " + table::change_text(*now) + ".\n";
}

std::string logged_text(const shop::Shop& shop, const shop::Machine& machine, const Logged& logged,
                        const std::vector<table::HistoryRow>& history) {
  const grades::PieceRow& piece = logged.piece;
  std::string text = "Logged " + textfile::counted(logged.pieces, "piece", "pieces") + " of " + piece.glass +
                     " on " + machine.name + " at " + shop::to_text(piece.setting) + ".\n" +
                     meanwhile_text(logged, history);
  if (piece.burn) {
    text += burn_text(piece, machine, table::estimate_turnaround(logged.record.logged.all, machine));
  }
  if (!table::is_good(piece, shop.acceptance)) {
    text +=
        "With only one of frost and chipping it counts neither as good nor as a reject; what was seen "
        "teaches the surface all the same.\n";
  }
  const std::vector<grades::SetAside>& set_aside = logged.record.logged.set_aside;
  if (logged.row && logged.check.pieces > 0) text += counted_text(logged.check, *logged.row, set_aside);
  if (logged.since_stale) text += counted_text(*logged.since_stale, *logged.row, set_aside);
  return text;
}

/// What follows for the setting in force.
std::string outcome_text(const shop::Shop& shop, const Logged& logged, const Settling& settling,
                         const Streams& streams) {
  std::string text;
  if (settling.meanwhile) {
    text += "The setting that was in force is not settled: meanwhile " +
            table::change_text(*settling.meanwhile) + ".\n";
  }
  if (logged.since_stale) text += stale_advice(shop, *logged.row, logged.record, streams);
  if (logged.row && !logged.check.alarm && logged.check.level >= kSuspicious) {
    text +=
        "So many rejects are suspicious, though chance may still explain them: look at lens, mirrors,\n"
        "focus and the bottle before the next piece.\n";
  }
  if (settling.settled) {
    text += "The setting in force is settled now; further pieces are held to a chance of " +
            textfile::shown_chance(settling.settled->row.chance) + ".\n";
  }
  if (logged.check.alarm) {
    text +=
        "STALE: that is more than chance explains. Look at lens, mirrors, focus and the bottles. If you cure "
        "a fault\nof the machine, say it, and the pieces of those days count no longer:\n  " +
        cured_command(shop, *logged.row) + "\nElse burn a grid before the next job:  " +
        shop::plan_command(shop, logged.piece.glass, logged.piece.machine) + '\n';
  }
  return text;
}

ExitStatus run_log(const Arguments& arguments, const Streams& streams) {
  if (arguments.has("cured")) return log_cured(arguments, streams);
  if (arguments.has("since")) throw UsageError("--since needs --cured");
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::string& glass = arguments.operands.at(0);
  shop.glass(glass);
  const std::vector<table::HistoryRow> history = read_whole_history(shop);
  const shop::Machine& machine = machine_in_force(arguments, shop, history, glass);
  const std::optional<table::SettingsRow> row = table::in_force(history, glass, machine.name);

  grades::PieceRow piece;
  piece.glass = glass;
  piece.machine = machine.name;
  piece.by = read_by(arguments);
  piece.note = read_note(arguments, "note");
  piece.logged_at = time_after_cures(shop, machine.name);
  read_outcome(arguments, shop.acceptance, piece);
  piece.burn = read_burn(arguments, shop);
  const std::optional<shop::Setting> setting = read_setting(arguments, machine, row);
  if (!setting) {
    tell(streams, "No setting is in force for " + glass + " on " + machine.name +
                      ", so say at which one it was burned: --power, --speed and --dpi.\n");
    return ExitStatus::no;
  }
  piece.setting = *setting;
  refuse_impossible_time(piece, machine, read_units(arguments, shop.units));
  const long pieces = arguments.integer("pieces", 1, 1000, 1);

  const Logged logged = write_pieces(shop, piece, pieces, streams);
  const bool json = arguments.has("json");
  // Said before anything is fitted: whoever stops that must know that the pieces are logged.
  if (!json) show(streams, logged_text(shop, machine, logged, history));
  streams.out.flush();
  const Settling settling = settle(shop, logged, streams);
  if (json) {
    streams.out << log_json(piece, pieces, logged.row, logged.since_stale.value_or(logged.check),
                            settling.settled.has_value(),
                            grades::count_set_aside(logged.record.logged.set_aside, glass, machine.name));
  } else {
    show(streams, outcome_text(shop, logged, settling, streams));
  }
  return ExitStatus::done;
}

}  // namespace

Command log_command() {
  std::vector<OptionText> options{
      {"good", "", "acceptable by this shop's bar, however much better; grades teach a little more", false},
      {"frost", "GRADE", "frost grade, 0 to 5", false},
      {"chipping", "GRADE", "chipping grade, 0 to 3", false},
      {"by", "NAME", "who looked at it (needed)", false},
      {"pieces", "N", "log N pieces that came out alike (default 1)", false},
      {"note", "TEXT", "what else was seen", false},
      {"cured", "TEXT", "no piece: a fault of the machine was cured, such as \"lens cleaned\"", false},
      {"since", "DAY",
       "with --cured: when the fault began, such as 2026-11-25 (default: the first reject of the run that "
       "made "
       "the setting stale)",
       false},
      {"minutes", "M", "how long the machine took for each piece, with --art", false},
      {"art", "WxH", "size of the art that was timed, round the bottle x along it, such as 60x40", false},
      {"units", "UNIT", "mm or in, for --art (default: the shop's)", false},
      {"machine", "NAME", "the laser (needed where several have a setting for this glass)", false}};
  for (const OptionText& row : setting_option_rows()) options.push_back(row);
  options.push_back({"json", "", "print one JSON object", false});
  return {
      "log",
      "GLASS",
      1,
      1,
      "record how a customer's piece came out",
      "Appends to results/pieces.csv, with the setting in force unless dials are named. Pieces are evidence: "
      "the next fit counts each as a swatch on a bottle of its own.\n\n"
      "Log every piece, the good ones too. When rejects come faster than the row in force promises (odds "
      "three times as high is what the test looks for), the row turns stale. A promise of 0.90 or better "
      "that is true raises a false alarm in fewer than 1 of 20 runs of 100 pieces. Pieces logged within a "
      "minute "
      "of one another are a batch without order: its rejects count as if spread over it. A provisional row "
      "becomes "
      "settled when its pieces, with the grids, support it (see `table show --help`). A tube that has lost a "
      "tenth of its power shows here after a hundred pieces or so, and hardly at all where the setting has "
      "room: have the power measured as the laser's manual says.\n\n"
      "Each time the row's chance is renewed the count starts anew: only pieces logged after that are held "
      "to "
      "it, since the older ones are part of what it rests on.\n\n"
      "A wrong line is taken back by hand: delete its row from results/pieces.csv in a text editor or "
      "spreadsheet, then run `frostcal check`. If the setting turned stale or settled by it, `table adopt "
      "GLASS --in-force --by NAME --reason TEXT` judges it anew without the row.\n\n"
      "--cured records that a fault of the machine, such as a dirty lens, a loose mirror or a wrong focus, "
      "was "
      "found and cured. All pieces that were logged on that machine from --since (a day of UTC) until now, "
      "of "
      "whatever glass, stay in results/pieces.csv and count no longer, except for their times; good ones "
      "too. A setting that they made stale can then be renewed without a reason. It is kept in "
      "results/cured-faults.csv and said wherever those pieces are missing; delete its row to take it back. "
      "Grids of those days are named and go on counting. Record it when the fault is cured, before the next "
      "piece is logged.\n\n"
      "With --minutes and --art the burn's time is kept too: from three timed burns on, `job` reckons with "
      "the "
      "time that the machine loses at each line end by them, instead of by shop.toml. A time that can't be "
      "that of such art (shorter than "
      "scanning it, or over 1 s lost at the end of each line) is refused, and nothing is logged.\n\n"
      "Exit status 1 when no setting is in force and none is named, or when --cured would set nothing aside.",
      options,
      run_log};
}

}  // namespace frostcal::cli
