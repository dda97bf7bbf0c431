#include <ostream>

#include "cli/commands.hpp"
#include "cli/shop_reading.hpp"
#include "shop/shop_file.hpp"
#include "table/stale_check.hpp"
#include "table/table_text.hpp"

namespace frostcal::cli {

namespace {

// Why nothing is listed. A glass or machine that only the history knows may be asked for.
std::string nothing_text(const shop::Shop& shop, const std::string& glass, const std::string& machine) {
  if (!glass.empty()) shop.glass(glass);
  if (!machine.empty()) shop.machine(machine);
  return "Nothing was adopted yet" + (glass.empty() ? "" : " for " + glass) +
         (machine.empty() ? "" : " on " + machine) + ".\n";
}

ExitStatus run_history(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::string glass = arguments.operands.empty() ? "" : arguments.operands.front();
  const std::string machine = arguments.text("machine");
  const table::TableRecord record = read_record(shop, streams);
  const std::string text = table::history_text(record, glass, machine);
  const std::string nothing = text.empty() ? nothing_text(shop, glass, machine) : "";
  if (arguments.has("json")) {
    streams.out << table::history_json(record, glass, machine);
  } else {
    streams.out << text << nothing;
  }
  return text.empty() ? ExitStatus::no : ExitStatus::done;
}

}  // namespace

Command table_history_command() {
  return {
      "table history",
      "[GLASS]",
      0,
      1,
      "list every adoption, oldest first",
      "The number of a row is what `table restore --row` takes. Glasses and machines that the shop no longer "
      "has are listed too. Under the rows stands what cured faults set aside (`log --cured`).\n\nExit status "
      "1 when there is nothing to list.",
      {{"machine", "NAME", "only this machine", false}, {"json", "", "print one JSON object", false}},
      run_history};
}

}  // namespace frostcal::cli
