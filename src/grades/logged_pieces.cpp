#include "grades/logged_pieces.hpp"

#include <algorithm>
#include <map>

#include "textfile/phrases.hpp"

namespace frostcal::grades {

bool covers(const CuredFault& fault, const std::string& machine, const std::string& time) {
  return fault.machine == machine && fault.since <= time && time <= fault.recorded_at;
}

LoggedPieces sort_pieces(std::vector<PieceRow> pieces, std::vector<CuredFault> cured) {
  LoggedPieces logged;
  std::map<std::pair<std::size_t, std::string>, SetAside> groups;
  for (const PieceRow& piece : pieces) {
    const auto fault = std::find_if(cured.begin(), cured.end(), [&](const CuredFault& one) {
      return covers(one, piece.machine, piece.logged_at);
    });
    if (fault == cured.end()) {
      logged.counted.push_back(piece);
      continue;
    }
    SetAside& group = groups[{static_cast<std::size_t>(fault - cured.begin()), piece.glass}];
    group.fault = *fault;
    group.glass = piece.glass;
    group.pieces.push_back(piece);
  }
  for (auto& [key, group] : groups) logged.set_aside.push_back(std::move(group));
  logged.all = std::move(pieces);
  logged.cured = std::move(cured);
  return logged;
}

LoggedPieces read_logged(const shop::Shop& shop, const std::string& as_of, textfile::FileSystem& files) {
  std::vector<PieceRow> pieces = read_pieces(shop, files);
  std::vector<CuredFault> cured = read_cured(shop, files);
  if (!as_of.empty()) {
    pieces.erase(std::remove_if(pieces.begin(), pieces.end(),
                                [&](const PieceRow& one) { return one.logged_at.substr(0, 10) > as_of; }),
                 pieces.end());
    cured.erase(std::remove_if(cured.begin(), cured.end(),
                               [&](const CuredFault& one) { return one.recorded_at.substr(0, 10) > as_of; }),
                cured.end());
  }
  return sort_pieces(std::move(pieces), std::move(cured));
}

int count_set_aside(const std::vector<SetAside>& set_aside, const std::string& glass,
                    const std::string& machine) {
  std::size_t count = 0;
  for (const SetAside& group : set_aside) {
    if (group.glass == glass && group.fault.machine == machine) count += group.pieces.size();
  }
  return static_cast<int>(count);
}

std::string set_aside_text(const std::vector<SetAside>& set_aside, const std::string& glass,
                           const std::string& machine, const std::string& since) {
  std::vector<std::pair<std::string, std::size_t>> causes;  // in the order of the cures
  for (const SetAside& group : set_aside) {
    if (group.glass != glass || group.fault.machine != machine || group.fault.recorded_at < since) continue;
    const std::string cause = group.fault.cure + " on " + group.fault.recorded_at.substr(0, 10);
    auto known =
        std::find_if(causes.begin(), causes.end(), [&](const auto& one) { return one.first == cause; });
    if (known == causes.end()) known = causes.insert(causes.end(), {cause, 0});
    known->second += group.pieces.size();
  }
  std::string text;
  for (const auto& [cause, pieces] : causes) {
    text += (text.empty() ? "" : "; ") + textfile::counted(static_cast<long>(pieces), "piece", "pieces") +
            " set aside: " + cause;
  }
  return text;
}

}  // namespace frostcal::grades
