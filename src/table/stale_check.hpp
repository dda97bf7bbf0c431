// Whether logged pieces come out worse than the row in force promises, beyond what chance explains.
//
// The test is two Bernoulli CUSUMs side by side, one for a slow decline and one for a sudden fault (Page,
// Biometrika 41, 100 (1954); for single inspected items: Reynolds & Stoumbos, J. Quality Technology 31, 87
// (1999); both from memory). Each piece adds ln(r1 / r0) when it is a reject and ln((1 - r1) / (1 - r0)) when
// it is good; a sum never falls under 0; when either reaches its limit the row is stale. r0 = 1 - promised
// chance, at least kLeastRejects; r1 has so many times the odds of r0.
//
// Pieces that were logged within kOneGoSeconds of one another are taken as a batch without order, its rejects
// spread evenly over it.
//
// Pieces are taken as independent given the setting; a bad day spoils several, so alarms come early then,
// which is the safe side. A shop that logs only its rejects gets a false alarm: log every piece.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "grades/logged_pieces.hpp"
#include "shop/shop.hpp"
#include "table/restoration.hpp"
#include "table/settings_history.hpp"

namespace frostcal::table {

/// A sum of the test: the odds of a reject that it is tuned to notice, over the promised odds, and its limit.
struct RejectSum {
  double worse;
  double alarm;
};
/// No promise is held to better than 1 reject in 50.
inline constexpr double kLeastRejects = 0.02;
/// The limits were chosen by simulation so that at a promise of 0.90 or better fewer than 5 % of true
/// promises raise an alarm within 100 pieces (stale_check_test.cpp, which also has the delays). A promise is
/// the mean of a belief: when that is wide (0.81 to 0.96 round 0.90) 13 % of rows raise one, but only 0.7 %
/// with a true chance of 0.90 or better; the others promised too much from the start.
inline constexpr RejectSum kDecline{3, 4.5};
inline constexpr RejectSum kFault{20, 7};

/// Nobody burns and logs a piece in less (common practice, no source).
inline constexpr int kOneGoSeconds = 60;

/// What the table and the log hold.
struct TableRecord {
  std::vector<HistoryRow> history;  // in file order
  grades::LoggedPieces logged;
};

struct StaleCheck {
  int pieces = 0;    // that count, also those after an alarm
  int rejects = 0;   // among them
  double level = 0;  // greater of the two sums as a share of its limit, at the alarm or after the last piece
  bool alarm = false;
  int alarm_at = 0;  // the piece that raised it, from 1; 0 = none did
  int began_at = 0;  // the reject from which that sum has not been 0 since, from 1; 0 = both sums are 0
};

/// `good` in the order in which they were logged; `promised` is the row's chance, 0 < promised <= 1.
StaleCheck check_pieces(double promised, const std::vector<bool>& good);

/// Good or reject by the shop's bar; nothing when too little was looked at to tell, or when the
/// bar was raised since and a range of grades lies on both sides of it.
std::optional<bool> is_good(const grades::PieceRow& piece, const shop::Acceptance& acceptance);

/// The pieces logged for the glass and machine of the last adopted or restored row, at its setting and not
/// before it was adopted or renewed with another promise: those that a renewed chance rests on can't test it.
/// Nothing in force, or a row that is stale already: no pieces.
StaleCheck check_in_force(const std::vector<HistoryRow>& history, const std::vector<grades::PieceRow>& pieces,
                          const std::string& glass, const std::string& machine,
                          const shop::Acceptance& acceptance);

/// The pieces of the glass and machine at `setting` that were logged at or after `since`, held to `promised`.
StaleCheck check_since(const std::vector<grades::PieceRow>& pieces, const std::string& glass,
                       const std::string& machine, const shop::Setting& setting, const std::string& since,
                       double promised, const shop::Acceptance& acceptance);

/// Of a row that was found stale: the pieces at its setting that were logged after that, held to its promise.
StaleCheck check_after(const std::vector<grades::PieceRow>& pieces, const SettingsRow& stale,
                       const shop::Acceptance& acceptance);

/// How a setting came to be found stale.
struct StaleFinding {
  SettingsRow promised;  // the row whose promise was broken
  std::string found_at;
};

/// The finding behind a stale row, the first where several logs found it so; a restored one repeats an older
/// finding. Nothing when the history has none.
std::optional<StaleFinding> stale_finding(const std::vector<HistoryRow>& history, const SettingsRow& stale);

/// When pieces of the row in force began to come out worse: the first reject of the run that made it stale,
/// or that may yet do so (the last zero of the sum is the usual estimate of the change: Page 1954, from
/// memory). Nothing when nothing is in force or no such run is under way.
std::optional<std::string> worse_since(const TableRecord& record, const std::string& glass,
                                       const std::string& machine, const shop::Acceptance& acceptance);

/// The cured fault by which a stale row was found so: one that sets aside what was logged when it was found,
/// while the pieces that count, before and since, are no worse than was promised. Nothing when there is none:
/// then the finding stands.
std::optional<grades::CuredFault> excuse(const TableRecord& record, const SettingsRow& stale,
                                         const shop::Acceptance& acceptance);

/// The row in force again, as stale, with what was found as its reason.
HistoryRow stale_row(const SettingsRow& in_force, const StaleCheck& check, const ChangeNote& note);

}  // namespace frostcal::table
