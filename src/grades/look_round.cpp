#include "grades/look_round.hpp"

#include <algorithm>
#include <map>
#include <optional>

#include "grades/grade_file.hpp"

namespace frostcal::grades {

GradeRow look_row(const SwatchGrade& grade, const std::string& note, const std::string& now) {
  const bool chipping_alone = grade.chipping.has_value();
  return {
      grade.swatch, chipping_alone ? std::nullopt : grade.frost, grade.chipping, note, grade.grader, now, 0};
}

bool is_look(const GradeRow& row, const SwatchGrade& before) {
  if (takes_back(row)) return false;
  if (row.chipping) return !row.frost;
  return !before.chipping && row.frost == before.frost;
}

LookRound look_round(const std::vector<GradeRow>& rows) {
  LookRound round;
  std::map<std::string, std::optional<SwatchGrade>> grades;
  const auto complete = [&] {
    return !round.looked_at.empty() && std::all_of(grades.begin(), grades.end(), [&](const auto& one) {
      return !one.second || round.looked_at.count(one.first) != 0;
    });
  };
  for (const GradeRow& row : rows) {
    std::optional<SwatchGrade>& grade = grades[row.swatch];
    if (grade && is_look(row, *grade)) {
      if (complete()) round = {round.number + 1, {}, false, ""};
      round.looked_at.insert(row.swatch);
      round.last = row.graded_at;
    }
    apply_row(row, grade);
    if (!grade) round.looked_at.erase(row.swatch);
  }
  round.complete = complete();
  return round;
}

}  // namespace frostcal::grades
