// Reading a shop for a command that decides by it: what does not count though it lies there is said.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "errors/user_error.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"
#include "table/settings_history.hpp"
#include "table/stale_check.hpp"

namespace frostcal::cli {

/// surface::read_evidence. One line to streams.err names grades whose grid is gone and rows that were cut,
/// which are left out, and grades from before their grid was planned, which count.
surface::ShopEvidence read_evidence(const shop::Shop& shop, const Streams& streams,
                                    const std::string& as_of = "");

/// What is wrong with a setting that its machine, as shop.toml has it now, can't be set to; nothing when it
/// can or the machine is gone.
std::optional<std::string> impossible_now(const shop::Shop& shop, const std::string& machine,
                                          const shop::Setting& setting);

/// table::read_history for showing it: that it lacks rows which the table has is said to streams.err.
std::vector<table::HistoryRow> read_history(const shop::Shop& shop, const Streams& streams);

/// table::read_history for adding to it: throws UserError when it lacks rows which the table has.
std::vector<table::HistoryRow> read_whole_history(const shop::Shop& shop);

/// read_history and read_whole_history with the logged pieces.
table::TableRecord read_record(const shop::Shop& shop, const Streams& streams);
table::TableRecord read_whole_record(const shop::Shop& shop);

/// By how much this computer's clock may be behind the newest row: that of two computers on one folder.
inline constexpr int kBearableSeconds = 120;

/// A fault for each file of the pieces, the cured faults and the history with rows later than this computer's
/// clock by kBearableSeconds or more. A file that can't be read is passed over.
std::vector<errors::Fault> rows_ahead(const shop::Shop& shop);

/// The time for rows that are about to be written: now, or, where a clock that was ahead by less than
/// kBearableSeconds wrote the newest row of the pieces, the cured faults or the history, the second after
/// that row's, since by the times of its rows frostcal knows what counts against a setting. Throws UserError
/// when there are rows_ahead.
std::string time_after_rows(const shop::Shop& shop);

/// The same, or the next second where a cured fault of the machine was recorded in this one: what is written
/// after that is not of before it.
std::string time_after_cures(const shop::Shop& shop, const std::string& machine);

}  // namespace frostcal::cli
