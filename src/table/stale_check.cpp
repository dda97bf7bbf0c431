#include "table/stale_check.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "errors/bug.hpp"
#include "table/settings_table.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::table {

namespace {

class RunningSum {
 public:
  RunningSum(const RejectSum& sum, double r0) : alarm_(sum.alarm) {
    const double odds = sum.worse * r0 / (1 - r0);
    const double r1 = odds / (1 + odds);
    reject_step_ = std::log(r1 / r0);
    good_step_ = std::log((1 - r1) / (1 - r0));
  }
  void add(bool good) { sum_ = std::max(0.0, sum_ + (good ? good_step_ : reject_step_)); }
  double level() const { return sum_ / alarm_; }

 private:
  double alarm_;
  double reject_step_ = 0;
  double good_step_ = 0;
  double sum_ = 0;
};

}  // namespace

StaleCheck check_pieces(double promised, const std::vector<bool>& good) {
  FROSTCAL_ASSERT(promised > 0 && promised <= 1, "a promised chance");
  const double r0 = std::max(1 - promised, kLeastRejects);
  RunningSum decline(kDecline, r0);
  RunningSum fault(kFault, r0);
  StaleCheck check;
  for (const bool one : good) {
    ++check.pieces;
    check.rejects += one ? 0 : 1;
    if (check.alarm) continue;
    decline.add(one);
    fault.add(one);
    check.level = std::max(decline.level(), fault.level());
    check.alarm = check.level >= 1;
    if (check.alarm) check.alarm_at = check.pieces;
  }
  return check;
}

std::optional<bool> is_good(const grades::PieceRow& piece, const shop::Acceptance& acceptance) {
  if (piece.frost && piece.frost->highest < acceptance.frost) return false;
  if (piece.chipping && piece.chipping->lowest > acceptance.chipping) return false;
  if (!piece.frost || !piece.chipping) return std::nullopt;
  const bool sure = piece.frost->lowest >= acceptance.frost && piece.chipping->highest <= acceptance.chipping;
  return sure ? std::optional<bool>(true) : std::nullopt;
}

StaleCheck check_since(const std::vector<grades::PieceRow>& pieces, const std::string& glass,
                       const std::string& machine, const shop::Setting& setting, const std::string& since,
                       double promised, const shop::Acceptance& acceptance) {
  std::vector<bool> good;
  for (const grades::PieceRow& piece : pieces) {
    const bool counts = piece.glass == glass && piece.machine == machine &&
                        same_dials(piece.setting, setting) && piece.logged_at >= since;
    if (!counts) continue;
    if (const auto one = is_good(piece, acceptance)) good.push_back(*one);
  }
  return check_pieces(promised, good);
}

StaleCheck check_in_force(const std::vector<HistoryRow>& history, const std::vector<grades::PieceRow>& pieces,
                          const std::string& glass, const std::string& machine,
                          const shop::Acceptance& acceptance) {
  const std::optional<SettingsRow> row = in_force(history, glass, machine);
  if (!row || row->status == Status::stale || row->chance <= 0) return {};
  return check_since(pieces, glass, machine, row->setting, row->adopted_at, row->chance, acceptance);
}

StaleCheck check_after(const std::vector<grades::PieceRow>& pieces, const SettingsRow& stale,
                       const shop::Acceptance& acceptance) {
  std::vector<grades::PieceRow> later;
  std::copy_if(pieces.begin(), pieces.end(), std::back_inserter(later),
               [&](const grades::PieceRow& piece) { return piece.logged_at > stale.adopted_at; });
  return check_since(later, stale.glass, stale.machine, stale.setting, stale.adopted_at, stale.chance,
                     acceptance);
}

HistoryRow stale_row(const SettingsRow& in_force, const StaleCheck& check, const ChangeNote& note) {
  HistoryRow history;
  history.row = in_force;
  history.row.status = Status::stale;
  history.row.reason = std::to_string(check.rejects) + " of " + std::to_string(check.pieces) +
                       " pieces rejected, a chance of " + textfile::shown_chance(in_force.chance) +
                       " was promised";
  history.row.adopted_by = note.by;
  history.row.adopted_at = note.now;
  history.action = Action::stale;
  history.tool_version = note.tool_version;
  return history;
}

}  // namespace frostcal::table
