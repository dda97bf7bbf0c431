#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/setting_options.hpp"
#include "cli/terminal.hpp"
#include "grades/piece_file.hpp"
#include "shop/shop_file.hpp"
#include "table/settings_table.hpp"
#include "table/stale_check.hpp"
#include "textfile/number_text.hpp"
#include "version.hpp"

namespace frostcal::cli {

namespace {

std::optional<int> read_grade(const Arguments& arguments, const char* option, int grades) {
  if (!arguments.has(option)) return std::nullopt;
  return static_cast<int>(arguments.integer(option, 0, grades - 1, 0));
}

// The grades of --good, --frost and --chipping.
void read_outcome(const Arguments& arguments, const shop::Acceptance& acceptance, grades::PieceRow& piece) {
  piece.frost = read_grade(arguments, "frost", shop::kFrostGrades);
  piece.chipping = read_grade(arguments, "chipping", shop::kChippingGrades);
  if (arguments.has("good")) {
    const bool contradicted = (piece.frost && *piece.frost < acceptance.frost) ||
                              (piece.chipping && *piece.chipping > acceptance.chipping);
    if (contradicted) throw UsageError("--good: the grade given with it is not acceptable in this shop");
    if (!piece.frost) piece.frost = acceptance.frost;
    if (!piece.chipping) piece.chipping = acceptance.chipping;
  }
  if (!piece.frost && !piece.chipping) {
    throw UsageError("how did it come out? Give --good, or --frost GRADE and --chipping GRADE");
  }
}

std::string counted_text(const table::StaleCheck& check, double promised) {
  return std::to_string(check.rejects) + " of " + std::to_string(check.pieces) +
         " pieces at the setting in force rejected; a chance of " + textfile::format_fixed(promised, 2) +
         " was promised.\n";
}

std::string log_json(const grades::PieceRow& piece, long pieces, const std::optional<table::SettingsRow>& row,
                     const table::StaleCheck& check) {
  using Json = nlohmann::ordered_json;
  Json root;
  root["schema"] = "frostcal.log/1";
  root["glass"] = piece.glass;
  root["machine"] = piece.machine;
  root["logged"] = pieces;
  root["promised"] = row ? Json(row->chance) : Json(nullptr);
  root["pieces"] = check.pieces;
  root["rejects"] = check.rejects;
  root["stale"] = check.alarm || (row && row->status == table::Status::stale);
  return root.dump() + '\n';
}

ExitStatus run_log(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::string& glass = arguments.operands.at(0);
  shop.glass(glass);
  const shop::Machine& machine = shop.machine_or_default(arguments.text("machine"));
  const std::vector<table::HistoryRow> history = table::read_history(shop);
  const std::optional<table::SettingsRow> row = table::in_force(history, glass, machine.name);

  grades::PieceRow piece;
  piece.glass = glass;
  piece.machine = machine.name;
  piece.by = read_by(arguments);
  piece.note = arguments.text("note");
  piece.logged_at = now_text();
  read_outcome(arguments, shop.acceptance, piece);
  std::optional<shop::Setting> base;
  if (row) base = row->setting;
  const std::optional<shop::Setting> named = setting_from_options(arguments, machine, base);
  if (!named && !row) {
    streams.err << "No setting is in force for " << glass << " on " << machine.name
                << ", so say at which one it was burned: --power, --speed and --dpi.\n";
    return ExitStatus::no;
  }
  piece.setting = named ? *named : row->setting;
  const long pieces = arguments.integer("pieces", 1, 1000, 1);
  for (long i = 0; i < pieces; ++i) grades::append_piece(shop, piece);

  const table::StaleCheck check =
      table::check_in_force(history, grades::read_pieces(shop), glass, machine.name, shop.acceptance);
  if (check.alarm) {
    table::record(shop, table::stale_row(*row, check, {piece.by, "", piece.logged_at, kVersion}));
  }
  if (arguments.has("json")) {
    streams.out << log_json(piece, pieces, row, check);
    return ExitStatus::done;
  }
  streams.out << "Logged " << pieces << (pieces == 1 ? " piece of " : " pieces of ") << glass << " at "
              << shop::to_text(piece.setting) << ".\n";
  if (row && check.pieces > 0) streams.out << counted_text(check, row->chance);
  if (check.alarm) {
    streams.out << "STALE: that is more than chance explains. Look at lens, mirrors, focus and the bottles,\n"
                   "then burn a grid before the next job:  frostcal plan "
                << glass << '\n';
  }
  return ExitStatus::done;
}

}  // namespace

Command log_command() {
  std::vector<OptionText> options{
      {"good", "", "acceptable; stands for the least that is good in this shop", false},
      {"frost", "GRADE", "frost grade, 0 to 5", false},
      {"chipping", "GRADE", "chipping grade, 0 to 3", false},
      {"by", "NAME", "who looked at it (needed)", false},
      {"pieces", "N", "log N pieces that came out alike (default 1)", false},
      {"note", "TEXT", "what else was seen", false},
      {"machine", "NAME", "the laser (default: the first of shop.toml)", false}};
  for (const OptionText& row : setting_option_rows()) options.push_back(row);
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
      "that is true raises a false alarm in fewer than 1 of 20 runs of 100 pieces.\n\n"
      "Exit status 1 when no setting is in force and none is named.",
      options,
      run_log};
}

}  // namespace frostcal::cli
