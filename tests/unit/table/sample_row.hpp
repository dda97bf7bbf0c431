// A row of the settings table for tests.
#pragma once

#include "table/settings_history.hpp"

namespace frostcal::test {

inline table::HistoryRow sample_row(double power_pct = 62.5) {
  table::HistoryRow history;
  history.tool_version = "0.1.0";
  table::SettingsRow& row = history.row;
  row.glass = "amber-jug";
  row.machine = "bench";
  row.setting = {power_pct, 40, 300, 100, "stucki", 1};
  row.chance = 0.9312;
  row.chance_low = 0.81;
  row.chance_high = 0.98;
  row.tolerance_pct = 7.5;
  row.seconds_per_cm2 = 12.25;
  row.swatches = 24;
  row.bottles = 2;
  row.grids = {"0001-amber-jug", "0002-amber-jug"};
  row.status = table::Status::settled;
  row.reason = "=better, \"whiter\"";
  row.adopted_by = "Ann";
  row.adopted_at = "2026-11-25T11:14:05Z";
  return history;
}

}  // namespace frostcal::test
