#include "table/stale_check.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "errors/bug.hpp"
#include "table/counted_pieces.hpp"
#include "table/settings_table.hpp"
#include "textfile/time_text.hpp"

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
  void add(bool good) {
    ++pieces_;
    if (sum_ <= 0) began_at_ = pieces_;
    sum_ = std::max(0.0, sum_ + (good ? good_step_ : reject_step_));
  }
  double level() const { return sum_ / alarm_; }
  int began_at() const { return sum_ > 0 ? began_at_ : 0; }

 private:
  double alarm_;
  double reject_step_ = 0;
  double good_step_ = 0;
  double sum_ = 0;
  int pieces_ = 0;
  int began_at_ = 0;
};

// The pieces of the glass and machine at `setting`, logged at or after `since`, that are known to be good or
// not.
struct JudgedPieces {
  std::vector<bool> good;
  std::vector<std::string> logged_at;
};

bool in_one_go(const std::string& earlier, const std::string& later) {
  return textfile::utc_seconds(later).value_or(0) - textfile::utc_seconds(earlier).value_or(0) <=
         kOneGoSeconds;
}

// Pieces logged in one go come sorted, the good ones first or the rejects: their order tells nothing, and a
// run of rejects at the end of each batch would be taken for a fault. So they are spread evenly.
JudgedPieces with_batches_mixed(const JudgedPieces& logged) {
  JudgedPieces mixed;
  std::size_t first = 0;
  while (first < logged.good.size()) {
    std::size_t end = first + 1;
    while (end < logged.good.size() && in_one_go(logged.logged_at[end - 1], logged.logged_at[end])) {
      ++end;
    }
    std::vector<std::size_t> good;
    std::vector<std::size_t> rejects;
    for (std::size_t i = first; i < end; ++i) (logged.good[i] ? good : rejects).push_back(i);
    const std::size_t count = end - first;
    std::size_t taken = 0;  // of the rejects
    for (std::size_t i = 0; i < count; ++i) {
      const bool reject = (2 * i + 1) * rejects.size() >= (2 * taken + 1) * count && taken < rejects.size();
      const std::size_t from = reject ? rejects[taken] : good[i - taken];
      taken += reject ? 1 : 0;
      mixed.good.push_back(logged.good[from]);
      mixed.logged_at.push_back(logged.logged_at[from]);
    }
    first = end;
  }
  return mixed;
}

JudgedPieces judge(const std::vector<grades::PieceRow>& pieces, const std::string& glass,
                   const std::string& machine, const shop::Setting& setting, const std::string& since,
                   const shop::Acceptance& acceptance) {
  JudgedPieces judged;
  for (const grades::PieceRow& piece : pieces) {
    const bool counts = piece.glass == glass && piece.machine == machine &&
                        shop::same_setting(piece.setting, setting) && piece.logged_at >= since;
    if (!counts) continue;
    if (const auto one = is_good(piece, acceptance)) {
      judged.good.push_back(*one);
      judged.logged_at.push_back(piece.logged_at);
    }
  }
  return with_batches_mixed(judged);
}

// Since when this row's promise holds: those before it that it renews without promising anything else count.
std::string promised_since(const std::vector<HistoryRow>& history, const SettingsRow& row) {
  constexpr double kSamePromise = 1e-4;  // the file rounds
  std::string since = row.adopted_at;
  bool found = false;
  for (auto one = history.rbegin(); one != history.rend(); ++one) {
    const SettingsRow& earlier = one->row;
    if (earlier.glass != row.glass || earlier.machine != row.machine) continue;
    found = found || earlier.adopted_at == row.adopted_at;
    if (!found) continue;
    const bool same = one->action == Action::adopt && earlier.status != Status::stale &&
                      shop::same_setting(earlier.setting, row.setting) &&
                      std::abs(earlier.chance - row.chance) <= kSamePromise;
    if (!same) break;
    since = earlier.adopted_at;
  }
  return since;
}

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
    check.began_at = decline.level() > fault.level() ? decline.began_at() : fault.began_at();
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
  return check_pieces(promised, judge(pieces, glass, machine, setting, since, acceptance).good);
}

StaleCheck check_in_force(const std::vector<HistoryRow>& history, const std::vector<grades::PieceRow>& pieces,
                          const std::string& glass, const std::string& machine,
                          const shop::Acceptance& acceptance) {
  const std::optional<SettingsRow> row = in_force(history, glass, machine);
  if (!row || row->status == Status::stale || row->chance <= 0) return {};
  const std::string since = promised_since(history, *row);
  return check_since(pieces, glass, machine, row->setting, since, row->chance, acceptance);
}

StaleCheck check_after(const std::vector<grades::PieceRow>& pieces, const SettingsRow& stale,
                       const shop::Acceptance& acceptance) {
  std::vector<grades::PieceRow> later;
  std::copy_if(pieces.begin(), pieces.end(), std::back_inserter(later),
               [&](const grades::PieceRow& piece) { return piece.logged_at > stale.adopted_at; });
  return check_since(later, stale.glass, stale.machine, stale.setting, stale.adopted_at, stale.chance,
                     acceptance);
}

std::optional<StaleFinding> stale_finding(const std::vector<HistoryRow>& history, const SettingsRow& stale) {
  std::string found_at;
  for (auto row = history.rbegin(); row != history.rend(); ++row) {
    const SettingsRow& earlier = row->row;
    if (earlier.glass != stale.glass || earlier.machine != stale.machine ||
        !shop::same_setting(earlier.setting, stale.setting)) {
      continue;
    }
    if (row->action == Action::stale) {
      found_at = earlier.adopted_at;  // of several in a row, which version 0.1.0 could write, the first
    } else if (!found_at.empty()) {
      if (row->action == Action::withdraw || earlier.chance <= 0) return std::nullopt;
      return StaleFinding{earlier, found_at};
    }
  }
  return std::nullopt;
}

std::optional<std::string> worse_since(const TableRecord& record, const std::string& glass,
                                       const std::string& machine, const shop::Acceptance& acceptance) {
  const std::optional<SettingsRow> row = in_force(record.history, glass, machine);
  if (!row || row->chance <= 0) return std::nullopt;
  SettingsRow promised = *row;
  if (row->status == Status::stale) {
    const std::optional<StaleFinding> finding = stale_finding(record.history, *row);
    if (!finding) return std::nullopt;
    promised = finding->promised;
  }
  const std::string since = promised_since(record.history, promised);
  const JudgedPieces judged =
      judge(record.logged.counted, glass, machine, promised.setting, since, acceptance);
  const int began_at = check_pieces(promised.chance, judged.good).began_at;
  if (began_at == 0) return std::nullopt;
  return judged.logged_at[static_cast<std::size_t>(began_at - 1)];
}

std::optional<grades::CuredFault> excuse(const TableRecord& record, const SettingsRow& stale,
                                         const shop::Acceptance& acceptance) {
  const std::optional<StaleFinding> finding = stale_finding(record.history, stale);
  if (!finding) return std::nullopt;
  const auto fault = std::find_if(
      record.logged.cured.begin(), record.logged.cured.end(),
      [&](const grades::CuredFault& one) { return grades::covers(one, stale.machine, finding->found_at); });
  if (fault == record.logged.cured.end()) return std::nullopt;
  const SettingsRow& promised = finding->promised;
  const StaleCheck without =
      check_since(record.logged.counted, stale.glass, stale.machine, promised.setting,
                  promised_since(record.history, promised), promised.chance, acceptance);
  return without.alarm ? std::nullopt : std::optional<grades::CuredFault>(*fault);
}

HistoryRow stale_row(const SettingsRow& in_force, const StaleCheck& check, const ChangeNote& note) {
  HistoryRow history;
  history.row = in_force;
  history.row.status = Status::stale;
  history.row.reason = rejected_reason(check.rejects, check.pieces, in_force.chance);
  history.row.adopted_by = note.by;
  history.row.adopted_at = note.now;
  history.action = Action::stale;
  history.tool_version = note.tool_version;
  return history;
}

}  // namespace frostcal::table
