#include <algorithm>
#include <ostream>
#include <string_view>

#include "cli/commands.hpp"
#include "cli/message.hpp"
#include "cli/output_file.hpp"
#include "cli/shop_reading.hpp"
#include "errors/user_error.hpp"
#include "shop/shop_file.hpp"
#include "table/settings_table.hpp"
#include "table/table_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::cli {

namespace {

/// The settings in one form, and how an older export of that form is told.
struct Export {
  std::string text;
  OutputKind kind;
};

bool begins_with(std::string_view text, std::string_view beginning) {
  return text.substr(0, beginning.size()) == beginning;
}

/// A spreadsheet may have saved it with a byte-order mark, quotes or another separator.
bool is_table_csv(std::string_view beginning) {
  std::string header(beginning.substr(0, beginning.find('\n')));
  header.erase(std::remove_if(header.begin(), header.end(),
                              [](char c) { return c == '"' || c == '\xEF' || c == '\xBB' || c == '\xBF'; }),
               header.end());
  std::replace_if(
      header.begin(), header.end(), [](char c) { return c == ';' || c == '\t'; }, ',');
  return begins_with(header, "glass,machine,power_pct,");
}

Export exported(const std::string& form, const std::vector<table::ShownRow>& shown,
                const shop::Acceptance& acceptance) {
  std::vector<table::SettingsRow> rows;
  for (const table::ShownRow& one : shown) rows.push_back(one.row);
  if (form == "csv") return {table::table_csv(rows), {"a settings table as CSV", is_table_csv}};
  if (form == "markdown") {
    return {table::table_markdown(rows), {"a settings table in Markdown", [](std::string_view beginning) {
                                            return begins_with(beginning, "| Glass | Machine |");
                                          }}};
  }
  if (form == "json") {
    return {table::table_json(shown, acceptance),
            {"a settings table as JSON", [](std::string_view beginning) {
               return begins_with(beginning, R"({"schema":"frostcal.table/)");
             }}};
  }
  throw UsageError("--form: found " + errors::quoted(form) + ", expected csv, markdown or json");
}

ExitStatus run_export(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const table::TableRecord record = read_record(shop, streams);
  const std::vector<table::ShownRow> rows =
      table::shown_rows(table::in_force(record.history), record, shop.acceptance);
  const auto [text, kind] = exported(arguments.word("form", "csv"), rows, shop.acceptance);
  if (const auto output = arguments.find("output")) {
    write_output(*output, kind, text);
    tell(streams,
         "Wrote " + *output + ": " + textfile::counted(static_cast<int>(rows.size()), "row", "rows") + '\n');
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
       {"output", "FILE",
        "write this file instead of standard output; an older export of that name is replaced", false}},
      run_export};
}

}  // namespace frostcal::cli
