// The settings table in words and in the forms it is exported in.
#pragma once

#include <string>
#include <vector>

#include "table/adoption.hpp"
#include "table/settings_history.hpp"
#include "table/settings_row.hpp"

namespace frostcal::table {

/// A row with what is said of its pieces.
struct ShownRow {
  SettingsRow row;
  std::string set_aside;       // "8 pieces set aside: lens cleaned on 2026-11-05"; may be empty
  bool excused = false;        // stale by those (excuse)
  bool rests_on_them = false;  // adopted with some of those, before they were set aside
};

/// The row was adopted with pieces that a cured fault has set aside since.
bool rests_on_set_aside(const SettingsRow& row, const TableRecord& record);

std::vector<ShownRow> shown_rows(const std::vector<SettingsRow>& rows, const TableRecord& record,
                                 const shop::Acceptance& acceptance);

/// One block per row, without colour; says what a stale row means and what a provisional one lacked when it
/// was adopted.
std::string table_text(const std::vector<ShownRow>& rows, const shop::Shop& shop);

/// {"rows": [{the columns of settings-table.csv, "set_aside", "excused", "lacks"}]}; `grids` is an array. One
/// line with a line end.
std::string table_json(const std::vector<ShownRow>& rows, const shop::Acceptance& acceptance);

/// A GitHub-flavoured Markdown table for people: percentages, dpi, chance with its interval, evidence,
/// status.
std::string table_markdown(const std::vector<SettingsRow>& rows);

/// What a row changed and who did it, as part of a sentence: "Bo took 40 % power, ... out of force".
std::string change_text(const HistoryRow& row);

/// The numbered rows of one glass and machine, or of all (empty names), oldest first; under them what cured
/// faults set aside of their pieces.
std::string history_text(const TableRecord& record, const std::string& glass, const std::string& machine);
/// {"rows": [{"number", the columns, "action", "tool_version"}], "set_aside": [{"glass", "machine", "cure",
/// "since", "by", "recorded_at", "pieces"}]}
std::string history_json(const TableRecord& record, const std::string& glass, const std::string& machine);

/// Old against new, gain, evidence, objections; not whether it was adopted.
std::string adoption_text(const AdoptionCase& adoption, shop::LengthUnit units = shop::LengthUnit::mm);
/// The command that renews the evidence of a row in force, to be copied.
std::string renewal_command(const shop::Shop& shop, const SettingsRow& row);
/// Two or three lines under the answer of `fit`: what is in force, what is believed of it today, and how to
/// renew its row when its status by the rules is another now. `today` is weigh_adoption of the setting in
/// force.
std::string in_force_text(const shop::Shop& shop, const AdoptionCase& today);
/// {"adopted", "row" or null, "old" or null, "old_chance_now", "gain", "gain_low", "gain_high",
/// "probability_better", "objections", "lacks", "pieces", "pieces_here", "set_aside"}; the five in the middle
/// are null when there is nothing to compare.
std::string adoption_json(const AdoptionCase& adoption, const HistoryRow* adopted);

}  // namespace frostcal::table
