// results/settings-table.csv: the setting in force per glass and machine, derived by folding the history.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "shop/shop.hpp"
#include "table/settings_history.hpp"
#include "table/settings_row.hpp"
#include "textfile/file_system.hpp"

namespace frostcal::table {

/// The last row of each glass and machine, in order of glass, then machine; what was withdrawn is left out.
std::vector<SettingsRow> in_force(const std::vector<HistoryRow>& history);

/// The row in force for one pair.
std::optional<SettingsRow> in_force(const std::vector<HistoryRow>& history, const std::string& glass,
                                    const std::string& machine);

std::filesystem::path table_file(const shop::Shop& shop);

/// The file's bytes for these rows.
std::string table_csv(const std::vector<SettingsRow>& rows);

/// Under the shop's lock: reads the whole history and replaces the file by what follows from it. Throws
/// UserError when the history is faulty, SystemError when the disk refuses; the old file is then in place.
void rewrite_table(const shop::Shop& shop, textfile::FileSystem& files = textfile::real_file_system());

/// True when the file says what the history says, however a spreadsheet may have laid it out; also when both
/// are empty. Throws UserError for faults in the history; a table that cannot be read is just not current.
bool table_is_current(const shop::Shop& shop, textfile::FileSystem& files = textfile::real_file_system());

/// The fault that the table has a row which is newer than the history's last row of its glass and machine, or
/// which has none: the history's last rows, or all of them, are gone, or somebody edited the table. Nothing
/// when there is no such row, or no table that can be read.
std::optional<errors::Fault> lost_rows(const shop::Shop& shop, const std::vector<HistoryRow>& history,
                                       textfile::FileSystem& files = textfile::real_file_system());

}  // namespace frostcal::table
