// Going back: an earlier row is put in force again by appending it anew. The history is never rewritten.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "table/settings_history.hpp"

namespace frostcal::table {

/// Whom a change is by, why and when.
struct ChangeNote {
  std::string by;
  std::string reason;  // may be empty
  std::string now;
  std::string tool_version;
};

/// The number (from 1, in file order) of the row that `restore` goes back to: the last one before the row in
/// force that has another setting. When nothing is in force, the row that was withdrawn. Nothing when there
/// is no such row.
std::optional<std::size_t> row_to_restore(const std::vector<HistoryRow>& history, const std::string& glass,
                                          const std::string& machine);

/// A new row that puts row `number` in force again, with its numbers and status as they were then. A setting
/// that was found stale, in that row or in a later one, comes back stale: only adopting it anew, with what
/// its pieces taught, ends that. The reason starts with "row 3 again". `number` must be a row that was in
/// force once (not a withdrawal), else Bug.
HistoryRow restored_row(const std::vector<HistoryRow>& history, std::size_t number, const ChangeNote& note);

/// A new row after which nothing is in force. It repeats the row in force.
HistoryRow withdrawn_row(const SettingsRow& in_force, const ChangeNote& note);

}  // namespace frostcal::table
