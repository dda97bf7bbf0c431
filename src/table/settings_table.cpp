#include "table/settings_table.hpp"

#include <algorithm>
#include <map>

#include "shop/shop_command.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/file_lock.hpp"
#include "textfile/open_file.hpp"
#include "textfile/read_file.hpp"

namespace frostcal::table {

namespace {

/// The rows of the file; nothing when it is not there or can't be read.
std::optional<std::vector<SettingsRow>> read_table(const shop::Shop& shop, textfile::FileSystem& files) {
  const std::filesystem::path path = table_file(shop);
  if (!textfile::exists(path, files)) return std::nullopt;
  errors::FaultList faults;
  std::vector<SettingsRow> rows;
  try {
    const textfile::CsvTable read =
        textfile::read_csv(textfile::read_file(shop.folder, path, textfile::kMaxCsvBytes, files),
                           textfile::shown(path), {settings_columns(), {}}, faults);
    for (const textfile::CsvRow& cells : read.rows) rows.push_back(read_settings_cells(cells, faults));
  } catch (const errors::UserError&) {
    return std::nullopt;
  }
  if (!faults.empty()) return std::nullopt;
  return rows;
}

}  // namespace

std::vector<SettingsRow> in_force(const std::vector<HistoryRow>& history) {
  std::map<std::pair<std::string, std::string>, const HistoryRow*> last;
  for (const HistoryRow& row : history) last[{row.row.glass, row.row.machine}] = &row;
  std::vector<SettingsRow> rows;
  for (const auto& [key, row] : last) {
    if (row->action != Action::withdraw) rows.push_back(row->row);
  }
  return rows;
}

std::optional<SettingsRow> in_force(const std::vector<HistoryRow>& history, const std::string& glass,
                                    const std::string& machine) {
  for (auto row = history.rbegin(); row != history.rend(); ++row) {
    if (row->row.glass != glass || row->row.machine != machine) continue;
    if (row->action == Action::withdraw) return std::nullopt;
    return row->row;
  }
  return std::nullopt;
}

std::filesystem::path table_file(const shop::Shop& shop) {
  return shop.folder / "results" / "settings-table.csv";
}

std::string table_csv(const std::vector<SettingsRow>& rows) {
  std::string text = textfile::csv_line(settings_columns());
  for (const SettingsRow& row : rows) text += textfile::csv_line(settings_cells(row));
  return text;
}

void rewrite_table(const shop::Shop& shop, textfile::FileSystem& files) {
  const textfile::FileLock lock(shop.folder, files);
  const std::string bytes = table_csv(in_force(read_history(shop, files)));
  textfile::durable_write_locked(shop.folder, table_file(shop), bytes, files);
}

bool table_is_current(const shop::Shop& shop, textfile::FileSystem& files) {
  const std::vector<SettingsRow> expected = in_force(read_history(shop, files));
  if (!textfile::exists(table_file(shop), files)) return expected.empty();
  const auto found = read_table(shop, files);
  return found && table_csv(*found) == table_csv(expected);
}

std::optional<errors::Fault> lost_rows(const shop::Shop& shop, const std::vector<HistoryRow>& history,
                                       textfile::FileSystem& files) {
  for (const SettingsRow& row : read_table(shop, files).value_or(std::vector<SettingsRow>{})) {
    const auto last = std::find_if(history.rbegin(), history.rend(), [&](const HistoryRow& one) {
      return one.row.glass == row.glass && one.row.machine == row.machine;
    });
    if (last != history.rend() && last->row.adopted_at >= row.adopted_at) continue;
    return errors::Fault{{textfile::shown(history_layout(shop).path), 0, 0, ""},
                         "no row for " + row.glass + " on " + row.machine + " of " + row.adopted_at +
                             ", which settings-table.csv has",
                         "every row that the table was made from",
                         "its last rows were lost: put the history back from a copy; or the table was "
                         "edited, or there is no copy: move "
                         "settings-table.csv out of the shop, and " +
                             shop::command_for(shop, "check --repair") +
                             " makes it anew from the rows that are left"};
  }
  return std::nullopt;
}

}  // namespace frostcal::table
