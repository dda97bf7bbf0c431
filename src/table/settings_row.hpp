// One row of the settings table: the setting in force for a glass on a machine, with its evidence as it was
// when it was adopted.
#pragma once

#include <string>
#include <vector>

#include "choice/decision.hpp"
#include "errors/user_error.hpp"
#include "shop/setting.hpp"
#include "shop/shop.hpp"
#include "textfile/csv_reader.hpp"

namespace frostcal::table {

/// How far a row can be relied on. A rule decides, nobody's opinion:
///   settled      the chance meets the target, its 5 % quantile is at most kSettledSlack under it, the
///                setting does not lie well outside what was burned, and it rests on kSettledSwatches graded
///                swatches and kSettledBottles bottles of this glass on this machine, or on kSettledPieces
///                pieces logged at this very setting;
///   provisional  in force, but not settled;
///   stale        its pieces come out worse than it promises, beyond what chance explains (stale_check.hpp).
enum class Status { provisional, settled, stale };

// Common practice, no source: about two small grids on two bottles. The slack is about one bad piece in
// seven. A piece is a bottle of its own, so as many of them as swatches are enough.
inline constexpr double kSettledSlack = 0.15;
inline constexpr int kSettledSwatches = 24;
inline constexpr int kSettledBottles = 2;
inline constexpr int kSettledPieces = 24;

struct SettingsRow {
  std::string glass;
  std::string machine;
  shop::Setting setting;
  double chance = 0;       // of an acceptable new bottle, as believed when adopted
  double chance_low = 0;   // 5 % quantile
  double chance_high = 0;  // 95 % quantile
  double tolerance_pct = 0;
  double seconds_per_cm2 = 0;
  int swatches = 0;
  int bottles = 0;
  std::vector<std::string> grids;
  Status status = Status::provisional;
  std::string reason;  // may be empty
  std::string adopted_by;
  std::string adopted_at;  // 2026-11-25T11:14:05Z
};

/// What a setting rests on: graded swatches of the glass on the machine, their bottles, and pieces that were
/// logged at the setting itself.
struct Support {
  int swatches = 0;
  int bottles = 0;
  int pieces = 0;
};

/// What a setting lacks to be settled, as phrases: "the chance of 0.84 is under the target of 0.90". Empty
/// when it lacks nothing.
std::vector<std::string> lacks_to_settle(const choice::Decision& decision, const Support& support,
                                         const shop::Acceptance& acceptance);

std::string to_text(Status status);

/// The columns of settings-table.csv, in order.
const std::vector<std::string>& settings_columns();

/// The row's cells in that order. Percentages as short as they can be, chances with four decimals, times with
/// two; free text guarded.
std::vector<std::string> settings_cells(const SettingsRow& row);

/// The row whose cells start with settings_columns(). Adds every fault; the row is then of no use.
SettingsRow read_settings_cells(const textfile::CsvRow& cells, errors::FaultList& faults);

}  // namespace frostcal::table
