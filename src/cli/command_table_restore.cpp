#include <algorithm>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/fit_pairs.hpp"
#include "cli/message.hpp"
#include "cli/shop_reading.hpp"
#include "cli/terminal.hpp"
#include "cli/text_option.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "table/restoration.hpp"
#include "table/settings_table.hpp"
#include "table/table_text.hpp"
#include "version.hpp"

namespace frostcal::cli {

namespace {

// The row number that --row names, checked against glass and machine.
std::size_t named_row(const Arguments& arguments, const shop::Shop& shop,
                      const std::vector<table::HistoryRow>& history, const std::string& glass,
                      const std::string& machine) {
  const auto number = static_cast<std::size_t>(arguments.integer("row", 1, 1000000000, 1));
  const std::string see = "; see  " + shop::command_for(shop, "table history " + glass);
  if (number > history.size()) {
    throw UsageError("--row: found " + std::to_string(number) + ", the history has " +
                     std::to_string(history.size()) + " rows" + see);
  }
  const table::HistoryRow& row = history[number - 1];
  if (row.row.glass != glass || row.row.machine != machine) {
    throw UsageError("--row: row " + std::to_string(number) + " is for " + row.row.glass + " on " +
                     row.row.machine + ", not " + glass + " on " + machine + see);
  }
  if (row.action == table::Action::withdraw) {
    throw UsageError("--row: row " + std::to_string(number) + " put nothing in force" + see);
  }
  return number;
}

ExitStatus run_restore(const Arguments& arguments, const Streams& streams) {
  table::ChangeNote note{read_by(arguments), read_note(arguments, "reason"), "", kVersion};
  const shop::Shop shop = shop::read_shop(arguments.shop);
  note.now = time_after_rows(shop);
  const std::string& glass = arguments.operands.at(0);
  const table::TableRecord record = read_whole_record(shop);
  const std::vector<table::HistoryRow>& history = record.history;
  // A row of a machine that the shop no longer has can still be named.
  const std::string machine = arguments.has("machine")
                                  ? arguments.text("machine")
                                  : machine_in_history(arguments, shop, history, glass).name;
  const bool known = std::any_of(history.begin(), history.end(), [&](const table::HistoryRow& row) {
    return row.row.glass == glass && row.row.machine == machine;
  });
  if (!known) {  // then the shop must know them
    shop.glass(glass);
    shop.machine(machine);
  }
  const auto now = table::in_force(history, glass, machine);
  const auto overtaken = [&](const table::HistoryRow& row) {
    const auto meanwhile = table::record(shop, row, history);
    if (!meanwhile) return false;
    tell(streams, "Nothing changed: at this moment " + table::change_text(*meanwhile) + " for " + glass +
                      " on " + machine + ". Give the command again if it is still wanted.\n");
    return true;
  };
  if (arguments.has("none")) {
    if (arguments.has("row")) throw UsageError("--none and --row cannot be given together");
    if (!now) {
      tell(streams, "Nothing is in force for " + glass + " on " + machine + ".\n");
      return ExitStatus::no;
    }
    const InterruptDelay delay;
    if (overtaken(table::withdrawn_row(*now, note))) return ExitStatus::no;
    if (arguments.has("json")) {
      streams.out << table::table_json({}, shop.acceptance);
    } else {
      streams.out << "Nothing is in force any more for " << glass << " on " << machine
                  << ". To bring it back:  "
                  << shop::command_for(shop,
                                       "table restore " + glass + " --machine " + machine + " --by NAME")
                  << '\n';
    }
    return ExitStatus::done;
  }
  std::optional<std::size_t> number;
  if (arguments.has("row")) {
    number = named_row(arguments, shop, history, glass, machine);
  } else {
    number = table::row_to_restore(history, glass, machine);
  }
  if (!number) {
    tell(streams,
         "There is no earlier setting of " + glass + " on " + machine +
             " to go back to. --row N names a row of its history, --none takes the present setting out "
             "of force.\n");
    return ExitStatus::no;
  }
  const table::HistoryRow row = table::restored_row(history, *number, note);
  if (const auto wrong = impossible_now(shop, machine, row.row.setting)) {
    tell(streams, "Not restored. " + *wrong + '\n');
    return ExitStatus::no;
  }
  const InterruptDelay delay;
  if (overtaken(row)) return ExitStatus::no;
  const std::vector<table::ShownRow> shown = table::shown_rows({row.row}, record, shop.acceptance);
  if (arguments.has("json")) {
    streams.out << table::table_json(shown, shop.acceptance);
  } else {
    streams.out << "In force again:\n" << table::table_text(shown, shop);
  }
  return ExitStatus::done;
}

}  // namespace

Command table_restore_command() {
  return {
      "table restore",
      "GLASS",
      1,
      1,
      "put an earlier setting in force again",
      "Goes back to the last row that has another setting than the one in force, or to the row that --row "
      "names. The history is never rewritten: a new row repeats the old one, so going back can itself be "
      "undone. The numbers are those of the day it was adopted.",
      {{"by", "NAME", "who restores it (needed)", false},
       {"machine", "NAME", "the laser (needed where the history of this glass has several)", false},
       {"row", "N", "the row of `table history` to go back to", false},
       {"none", "", "take the setting out of force instead, leaving none", false},
       {"reason", "TEXT", "why", false},
       {"json", "", "print one JSON object: the setting in force now, if any", false}},
      run_restore};
}

}  // namespace frostcal::cli
