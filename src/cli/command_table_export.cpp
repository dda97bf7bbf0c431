#include <ostream>

#include "cli/commands.hpp"
#include "cli/message.hpp"
#include "cli/terminal.hpp"
#include "errors/user_error.hpp"
#include "shop/shop_file.hpp"
#include "table/settings_table.hpp"
#include "table/table_text.hpp"
#include "textfile/durable_write.hpp"

namespace frostcal::cli {

namespace {

std::string exported(const std::string& form, const std::vector<table::SettingsRow>& rows) {
  if (form == "csv") return table::table_csv(rows);
  if (form == "markdown") return table::table_markdown(rows);
  if (form == "json") return table::table_json(rows);
  throw UsageError("--form: found " + errors::quoted(form) + ", expected csv, markdown or json");
}

ExitStatus run_export(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::vector<table::SettingsRow> rows = table::in_force(table::read_history(shop));
  const std::string text = exported(arguments.word("form", "csv"), rows);
  if (const auto output = arguments.find("output")) {
    const InterruptDelay delay;
    textfile::durable_write_anywhere(*output, text);
    tell(streams, *output + ": " + std::to_string(rows.size()) + (rows.size() == 1 ? " row\n" : " rows\n"));
  } else {
    streams.out << text;
  }
  return rows.empty() ? ExitStatus::no : ExitStatus::done;
}

}  // namespace

Command table_export_command() {
  return {
      "table export",
      "",
      0,
      0,
      "write the settings in force as CSV, Markdown or JSON",
      "CSV has the columns of results/settings-table.csv, JSON is that of `table show --json`, Markdown is "
      "for a page that people read.\n\nExit status 1 when nothing is in force (the heading is written all "
      "the same).",
      {{"form", "NAME", "csv (default), markdown or json", false},
       {"output", "FILE", "write this file instead of standard output; an older one of that name is replaced",
        false}},
      run_export};
}

}  // namespace frostcal::cli
