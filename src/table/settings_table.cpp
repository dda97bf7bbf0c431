#include "table/settings_table.hpp"

#include <map>

#include "textfile/csv_reader.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/file_lock.hpp"
#include "textfile/open_file.hpp"
#include "textfile/read_file.hpp"

namespace frostcal::table {

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
  const std::filesystem::path path = table_file(shop);
  if (!textfile::exists(path, files)) return expected.empty();
  errors::FaultList faults;
  std::vector<SettingsRow> found;
  try {
    const textfile::CsvTable read =
        textfile::read_csv(textfile::read_file(shop.folder, path, textfile::kMaxCsvBytes, files),
                           textfile::shown(path), {settings_columns(), {}}, faults);
    for (const textfile::CsvRow& cells : read.rows) found.push_back(read_settings_cells(cells, faults));
  } catch (const errors::UserError&) {
    return false;
  }
  return faults.empty() && table_csv(found) == table_csv(expected);
}

}  // namespace frostcal::table
