// results/settings-history.csv: every adoption ever made, append only, the truth. The settings table is
// derived from it.
//
// Columns: those of the settings table, then action, tool_version, format, checksum. A row of a format that
// is not known is refused, so that an old tool never misreads a newer file. `checksum` is made of the row's
// other cells as this version would write them, joined by commas: a spreadsheet may save the file with
// semicolons, decimal commas or other zeros, but a changed value is noticed. Version and checksum are written
// "v0.1.0" and "after-9e83a1b2-crc-1234e567": bare, a spreadsheet takes some of them for dates or for
// numbers.
//
// Rows are chained: "crc-" is the CRC-32 of the other cells and of "after-9e83a1b2", which names the row
// above by its link, so that a row which was taken out, put in or moved is noticed by the next one. A row's
// link is its CRC-32. Rows of format 1, of before there was a chain, have "crc-1234e567" alone; their link is
// the CRC-32 of the link above and that text, so that the first chained row holds all of them. What the chain
// can't tell is that the last rows are gone: lost_rows (settings_table.hpp) sees that while the table
// still has them.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "errors/user_error.hpp"
#include "shop/shop.hpp"
#include "table/settings_row.hpp"
#include "textfile/append_row.hpp"
#include "textfile/file_system.hpp"

namespace frostcal::table {

enum class Action {
  adopt,    // a setting was put in force
  restore,  // an earlier row was put in force again
  stale,    // the row in force was found worse than it promises
  withdraw  // nothing is in force any more
};
std::string to_text(Action action);

struct HistoryRow {
  SettingsRow row;
  Action action = Action::adopt;
  std::string tool_version;
  int line = 0;        // in the file, from 1; 0 = not from a file
  std::string link{};  // what the next row's checksum names it by; empty = not from a file
};

inline constexpr int kHistoryFormat = 2;  // 1: without the chain
/// What a person can do about a row that should not be as it is.
inline constexpr std::string_view kMendHistory =
    "put the file back from a copy; without one, delete this line and all below it, delete "
    "settings-table.csv too, give frostcal check --repair, and adopt again what those lines had adopted";
/// The link before the first row.
inline constexpr std::string_view kFirstLink = "00000000";

textfile::AppendedFile history_layout(const shop::Shop& shop);

/// All rows in file order; empty when there is no file. A torn last row is left out: it was never
/// acknowledged. Throws UserError with every fault: an unknown format, a bad cell, a changed row, a row that
/// does not follow the one above it.
std::vector<HistoryRow> read_history(const shop::Shop& shop,
                                     textfile::FileSystem& files = textfile::real_file_system());

std::vector<HistoryRow> parse_history(std::string_view text, const std::string& name,
                                      errors::FaultList& faults);

/// The row as it is written behind one with this link, checksum last.
std::vector<std::string> history_cells(const HistoryRow& row, std::string_view link);

/// Appends one row (on the disk when this returns) and writes settings-table.csv anew from the whole history.
/// `known` is the history that the row was derived from. When another row of its glass and machine was
/// recorded since, nothing is written and the newest such row is returned.
/// Throws SystemError, and UserError when the history is faulty or lacks rows which the table or `known` has;
/// nothing is appended then. When only the second step fails the history holds the row, which the SystemError
/// says, and the next change or `check --repair` mends the table.
std::optional<HistoryRow> record(const shop::Shop& shop, const HistoryRow& row,
                                 const std::vector<HistoryRow>& known,
                                 textfile::FileSystem& files = textfile::real_file_system());

/// The last row of a glass and machine, whatever it did; null when there is none.
const HistoryRow* newest_row(const std::vector<HistoryRow>& history, const std::string& glass,
                             const std::string& machine);

/// The newest row at this setting when it is a stale one: nobody adopted the setting anew since.
const HistoryRow* newest_if_stale(const std::vector<HistoryRow>& history, const std::string& glass,
                                  const std::string& machine, const shop::Setting& setting);

}  // namespace frostcal::table
