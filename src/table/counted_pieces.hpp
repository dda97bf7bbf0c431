// Pieces and cured faults that rows of the history name in their reasons, and whether they are still there:
// nothing else in a shop tells that pieces.csv or cured-faults.csv lost rows.
#pragma once

#include <string>
#include <vector>

#include "grades/cured_file.hpp"
#include "grades/piece_file.hpp"
#include "table/settings_history.hpp"

namespace frostcal::table {

/// The reason of a row that was found stale: "6 of 24 pieces rejected, a chance of 0.93 was promised".
std::string rejected_reason(int rejects, int pieces, double promised);

/// The reason of a row that pieces settled: "settled with 24 pieces logged at it; before: TEXT".
std::string settled_reason(int pieces, const std::string& before);

/// A row of the history whose reason counts more pieces of its glass on its machine than were logged until
/// then, by what is left of them.
struct LostPieces {
  HistoryRow row;
  int counted = 0;
  int left = 0;
};

/// At most one for a glass and machine, in order of these: of the row that came last when any is missing, of
/// an earlier one when all are. (A piece that was logged by mistake may be deleted; the setting is then
/// judged anew, and the last row names it no longer.) Pieces at any setting are taken for those that were
/// counted.
std::vector<LostPieces> lost_pieces(const std::vector<HistoryRow>& history,
                                    const std::vector<grades::PieceRow>& pieces);

/// The rows that came last for their glass and machine whose reason names pieces set aside by a cured fault
/// that is not there.
std::vector<HistoryRow> lost_cures(const std::vector<HistoryRow>& history,
                                   const std::vector<grades::CuredFault>& cured);

}  // namespace frostcal::table
