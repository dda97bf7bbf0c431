#include "table/restoration.hpp"

#include "errors/bug.hpp"

namespace frostcal::table {

namespace {

HistoryRow repeated(const SettingsRow& row, Action action, const std::string& reason,
                    const ChangeNote& note) {
  HistoryRow history;
  history.row = row;
  history.row.reason = reason + (note.reason.empty() || reason.empty() ? "" : ": ") + note.reason;
  history.row.adopted_by = note.by;
  history.row.adopted_at = note.now;
  history.action = action;
  history.tool_version = note.tool_version;
  return history;
}

}  // namespace

std::optional<std::size_t> row_to_restore(const std::vector<HistoryRow>& history, const std::string& glass,
                                          const std::string& machine) {
  const HistoryRow* now = nullptr;
  for (std::size_t number = history.size(); number > 0; --number) {
    const HistoryRow& row = history[number - 1];
    if (row.row.glass != glass || row.row.machine != machine) continue;
    if (now == nullptr) {
      now = &row;
      continue;
    }
    if (row.action == Action::withdraw) continue;
    const bool withdrawn = now->action == Action::withdraw;
    if (withdrawn || !shop::same_setting(row.row.setting, now->row.setting)) return number;
  }
  return std::nullopt;
}

HistoryRow restored_row(const std::vector<HistoryRow>& history, std::size_t number, const ChangeNote& note) {
  FROSTCAL_ASSERT(number >= 1 && number <= history.size(), "a row of the history");
  const HistoryRow& earlier = history[number - 1];
  FROSTCAL_ASSERT(earlier.action != Action::withdraw, "a row that was in force");
  const std::string again = "row " + std::to_string(number) + " again";
  const bool stale_since =
      earlier.row.status != Status::stale &&
      newest_if_stale(history, earlier.row.glass, earlier.row.machine, earlier.row.setting) != nullptr;
  HistoryRow restored =
      repeated(earlier.row, Action::restore, again + (stale_since ? " (found stale since)" : ""), note);
  if (stale_since) restored.row.status = Status::stale;
  return restored;
}

HistoryRow withdrawn_row(const SettingsRow& in_force, const ChangeNote& note) {
  return repeated(in_force, Action::withdraw, "", note);
}

}  // namespace frostcal::table
