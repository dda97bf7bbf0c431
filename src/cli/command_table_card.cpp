#include <ostream>

#include "cli/commands.hpp"
#include "cli/message.hpp"
#include "cli/shop_reading.hpp"
#include "cli/terminal.hpp"
#include "cli/write_pdf.hpp"
#include "report/wall_card.hpp"
#include "shop/shop_file.hpp"
#include "table/settings_table.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::cli {

namespace {

// "glass" or "machine" where shop.toml has none of the row's name any more.
std::string gone(const shop::Shop& shop, const table::SettingsRow& row) {
  if (shop.find_glass(row.glass) == nullptr) return "glass";
  return shop.find_machine(row.machine) == nullptr ? "machine" : "";
}

ExitStatus run_card(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::string machine = arguments.text("machine");
  if (!machine.empty()) shop.machine(machine);
  std::vector<report::WallCardRow> rows;
  for (const table::SettingsRow& row : table::in_force(read_history(shop, streams))) {
    if (!machine.empty() && row.machine != machine) continue;
    if (const std::string what = gone(shop, row); !what.empty()) {
      tell(streams, "Not on the card is " + row.glass + " on " + row.machine + ": shop.toml has no " + what +
                        " of that name any more.\n");
      continue;
    }
    if (const auto wrong = impossible_now(shop, row.machine, row.setting)) {
      tell(streams, "Not on the card is " + row.glass + ". " + *wrong + '\n');
      continue;
    }
    rows.push_back({row.glass, row.machine, row.setting, row.chance, row.tolerance_pct, row.seconds_per_cm2,
                    table::to_text(row.status)});
  }
  if (rows.empty()) {
    tell(streams, "There is no setting in force to put on the wall.\n");
    return ExitStatus::no;
  }
  const std::string& file = arguments.operands.at(0);
  const report::WallCardHead head{shop.name, now_text().substr(0, 10), read_paper(arguments, shop.paper),
                                  shop.units};
  write_pdf(file, "Settings in force: " + shop.name, report::wall_card(head, rows));
  tell(streams, "Wrote " + file + ": " +
                    textfile::counted(static_cast<int>(rows.size()), "setting", "settings") + '\n');
  return ExitStatus::done;
}

}  // namespace

Command table_card_command() {
  return {
      "table card",
      "FILE.pdf",
      1,
      1,
      "draw the settings in force as a card for the wall",
      "Large figures to type from, with chance, status and cautions. Print it again after each change: the "
      "date is on it. An older PDF of that name is replaced.\n\nExit status 1 when nothing is in force.",
      {{"machine", "NAME", "only this machine", false},
       {"paper", "SIZE", "a4 or letter (default: the shop's)", false}},
      run_card};
}

}  // namespace frostcal::cli
