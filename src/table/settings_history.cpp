#include "table/settings_history.hpp"

#include <algorithm>

#include "errors/bug.hpp"
#include "table/settings_table.hpp"
#include "textfile/checksum.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/open_file.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::table {

namespace {

constexpr Action kActions[] = {Action::adopt, Action::restore, Action::stale, Action::withdraw};

std::vector<std::string> history_columns() {
  std::vector<std::string> columns = settings_columns();
  columns.insert(columns.end(), {"action", "tool_version", "format", "checksum"});
  return columns;
}

constexpr std::string_view kChecksumMark = "crc-";
constexpr std::string_view kVersionMark = "v";

bool has_mark(std::string_view text, std::string_view mark) {
  return text.substr(0, mark.size()) == mark;
}

bool is_checksum(std::string_view text) {
  if (!has_mark(text, kChecksumMark)) return false;
  text.remove_prefix(kChecksumMark.size());
  return text.size() == 8 && text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

}  // namespace

std::string to_text(Action action) {
  switch (action) {
    case Action::adopt:
      return "adopt";
    case Action::restore:
      return "restore";
    case Action::stale:
      return "stale";
    case Action::withdraw:
      return "withdraw";
  }
  return "";
}

textfile::AppendedFile history_layout(const shop::Shop& shop) {
  return {shop.folder,   shop.folder / "results" / "settings-history.csv", history_columns(), is_checksum, 0,
          kHistoryFormat};
}

std::vector<std::string> history_cells(const HistoryRow& row) {
  std::vector<std::string> cells = settings_cells(row.row);
  cells.insert(cells.end(), {to_text(row.action), std::string(kVersionMark) + row.tool_version,
                             std::to_string(kHistoryFormat)});
  cells.push_back(std::string(kChecksumMark) + textfile::crc32_text(textfile::csv_line(cells)));
  return cells;
}

std::vector<HistoryRow> parse_history(std::string_view text, const std::string& name,
                                      errors::FaultList& faults) {
  const std::size_t shared = settings_columns().size();
  const textfile::CsvTable read =
      textfile::read_csv(text, name, {history_columns(), {}, kHistoryFormat}, faults);
  std::vector<HistoryRow> rows;
  for (const textfile::CsvRow& cells : read.rows) {
    if (!textfile::read_integer_cell(cells.cell(shared + 2), {1, kHistoryFormat}, faults)) continue;
    const std::size_t before = faults.faults().size();
    HistoryRow row;
    row.line = cells.line();
    row.row = read_settings_cells(cells, faults);
    const textfile::CsvCell& action = cells.cell(shared);
    const auto known = std::find_if(std::begin(kActions), std::end(kActions),
                                    [&](Action one) { return to_text(one) == action.text; });
    if (known == std::end(kActions)) {
      faults.add({action.place, errors::quoted(action.text), "adopt, restore, stale or withdraw", ""});
    } else {
      row.action = *known;
    }
    const textfile::CsvCell& version = cells.cell(shared + 1);
    if (!has_mark(version.text, kVersionMark)) {
      faults.add({version.place, errors::quoted(version.text), "a version such as v0.1.0", ""});
    } else {
      row.tool_version = version.text.substr(kVersionMark.size());
    }
    if (faults.faults().size() != before) continue;
    const textfile::CsvCell& checksum = cells.cell(shared + 3);
    const std::string expected = history_cells(row).back();
    if (checksum.text != expected) {
      faults.add({checksum.place, errors::quoted(checksum.text), expected + " for what the row says",
                  "the row was changed after it was written; put it back from a copy, or delete the line and "
                  "adopt again"});
      continue;
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

std::vector<HistoryRow> read_history(const shop::Shop& shop, textfile::FileSystem& files) {
  const textfile::AppendedFile layout = history_layout(shop);
  const auto read = textfile::read_appended(layout, files);
  if (!read || read->text.empty()) return {};
  errors::FaultList faults;
  std::vector<HistoryRow> rows = parse_history(read->text, textfile::shown(layout.path), faults);
  faults.throw_if_any();
  return rows;
}

textfile::TailRepair record(const shop::Shop& shop, const HistoryRow& row, textfile::FileSystem& files) {
  FROSTCAL_ASSERT(!row.row.glass.empty() && !row.row.machine.empty(), "a row is for a glass on a machine");
  FROSTCAL_ASSERT(!row.row.adopted_by.empty() && textfile::is_utc_time(row.row.adopted_at), "who and when");
  textfile::TailRepair repair = textfile::append_rows(history_layout(shop), {history_cells(row)}, files);
  rewrite_table(shop, files);
  return repair;
}

}  // namespace frostcal::table
