#include "table/counted_pieces.hpp"

#include <algorithm>
#include <map>
#include <string_view>
#include <utility>

#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::table {

namespace {

constexpr std::string_view kSettled = "settled with ";
constexpr std::string_view kOf = " of ";
constexpr std::string_view kSetAside = " set aside: ";

/// The whole number at the front of the text; 0 when there is none.
int leading_number(std::string_view text) {
  const std::size_t digits = std::min(text.find_first_not_of("0123456789"), text.size());
  return static_cast<int>(textfile::parse_integer(text.substr(0, digits)).value_or(0));
}

/// How many pieces the row's reason says that it counted; 0 = it says nothing of them.
int counted_pieces(const HistoryRow& row) {
  const std::string_view reason = row.row.reason;
  if (row.action == Action::stale) {
    const std::size_t of = reason.find(kOf);
    return of == std::string_view::npos ? 0 : leading_number(reason.substr(of + kOf.size()));
  }
  return reason.substr(0, kSettled.size()) == kSettled ? leading_number(reason.substr(kSettled.size())) : 0;
}

int logged_until(const SettingsRow& row, const std::vector<grades::PieceRow>& pieces) {
  return static_cast<int>(std::count_if(pieces.begin(), pieces.end(), [&](const grades::PieceRow& piece) {
    return piece.glass == row.glass && piece.machine == row.machine && piece.logged_at <= row.adopted_at;
  }));
}

/// The rows of each glass and machine, in file order.
std::map<std::pair<std::string, std::string>, std::vector<const HistoryRow*>> by_pair(
    const std::vector<HistoryRow>& history) {
  std::map<std::pair<std::string, std::string>, std::vector<const HistoryRow*>> pairs;
  for (const HistoryRow& row : history) pairs[{row.row.glass, row.row.machine}].push_back(&row);
  return pairs;
}

}  // namespace

std::string rejected_reason(int rejects, int pieces, double promised) {
  return std::to_string(rejects) + std::string(kOf) + std::to_string(pieces) +
         " pieces rejected, a chance of " + textfile::shown_chance(promised) + " was promised";
}

std::string settled_reason(int pieces, const std::string& before) {
  return std::string(kSettled) + textfile::counted(pieces, "piece", "pieces") + " logged at it" +
         (before.empty() ? "" : "; before: " + before);
}

std::vector<LostPieces> lost_pieces(const std::vector<HistoryRow>& history,
                                    const std::vector<grades::PieceRow>& pieces) {
  std::vector<LostPieces> lost;
  for (const auto& [pair, rows] : by_pair(history)) {
    for (auto row = rows.rbegin(); row != rows.rend(); ++row) {
      const int counted = counted_pieces(**row);
      const int left = logged_until((*row)->row, pieces);
      const bool missing = row == rows.rbegin() ? left < counted : left == 0 && counted > 0;
      if (!missing) continue;
      lost.push_back({**row, counted, left});
      break;
    }
  }
  return lost;
}

std::vector<HistoryRow> lost_cures(const std::vector<HistoryRow>& history,
                                   const std::vector<grades::CuredFault>& cured) {
  std::vector<HistoryRow> lost;
  for (const auto& [pair, rows] : by_pair(history)) {
    const HistoryRow& last = *rows.back();
    const std::string& reason = last.row.reason;
    const auto names = [&](std::size_t at, const grades::CuredFault& fault) {
      const std::string cure = fault.cure + " on " + fault.recorded_at.substr(0, 10);
      return fault.machine == last.row.machine && reason.compare(at, cure.size(), cure) == 0;
    };
    for (std::size_t at = 0; (at = reason.find(kSetAside, at)) != std::string::npos;) {
      at += kSetAside.size();
      if (std::any_of(cured.begin(), cured.end(), [&](const auto& fault) { return names(at, fault); }))
        continue;
      lost.push_back(last);
      break;
    }
  }
  return lost;
}

}  // namespace frostcal::table
