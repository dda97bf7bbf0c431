#include <algorithm>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/message.hpp"
#include "cli/shop_reading.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "table/settings_table.hpp"
#include "table/table_text.hpp"

namespace frostcal::cli {

namespace {

ExitStatus run_show(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::string machine = arguments.text("machine");
  if (!machine.empty()) shop.machine(machine);
  for (const std::string& glass : arguments.operands) shop.glass(glass);
  const table::TableRecord record = read_record(shop, streams);
  std::vector<table::SettingsRow> rows;
  for (const table::SettingsRow& row : table::in_force(record.history)) {
    const std::vector<std::string>& glasses = arguments.operands;
    const bool wanted =
        (machine.empty() || row.machine == machine) &&
        (glasses.empty() || std::find(glasses.begin(), glasses.end(), row.glass) != glasses.end());
    if (wanted) rows.push_back(row);
  }
  const std::vector<table::ShownRow> shown = table::shown_rows(rows, record, shop.acceptance);
  if (arguments.has("json")) {
    streams.out << table::table_json(shown, shop.acceptance);
  } else if (rows.empty()) {
    streams.out << "No setting is in force" << (arguments.operands.empty() ? "" : " for that")
                << ". When a fit is good enough:  " << shop::command_for(shop, "table adopt GLASS --by NAME")
                << '\n';
  } else {
    streams.out << table::table_text(shown, shop);
    for (const table::ShownRow& one : shown) {
      if (const auto wrong = impossible_now(shop, one.row.machine, one.row.setting))
        tell(streams, one.row.glass + ": " + *wrong + '\n');
    }
  }
  return rows.empty() ? ExitStatus::no : ExitStatus::done;
}

Command show_command(const std::string& name) {
  return {
      name,
      "[GLASS...]",
      0,
      -1,
      "show the settings in force",
      "One setting for each glass and machine, with the chance of an acceptable bottle when it was adopted, "
      "how far power may drift, what it rests on, and its status. Settled: the chance meets the target, the "
      "low "
      "end of its interval is at most 0.15 under it, and it rests on 24 graded swatches on 2 bottles, or on "
      "24 pieces logged at that setting. Provisional: not yet; what it lacks is said. Stale: pieces come out "
      "worse than promised.\n\n"
      "The numbers are those of the day of adoption, by the bar that shop.toml had then. `job` tells "
      "today's; "
      "after a change of the bar, `table adopt GLASS --in-force` renews them.\n\n"
      "It is read from the history (results/settings-history.csv); results/settings-table.csv is the same "
      "for spreadsheets. Pieces that are set aside (`log --cured`) are named under their row.\n\nExit status "
      "1 when nothing is in force.",
      {{"machine", "NAME", "only this machine", false}, {"json", "", "print one JSON object", false}},
      run_show};
}

}  // namespace

Command table_command() {
  return show_command("table");
}

Command table_show_command() {
  return show_command("table show");
}

}  // namespace frostcal::cli
