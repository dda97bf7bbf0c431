#include "grades/look_round.hpp"

#include <catch2/catch.hpp>

#include "grades/grade_file.hpp"
#include "support/sample_grid.hpp"

using namespace frostcal;
using namespace frostcal::grades;

namespace {

const std::string kMonday = "2026-11-23T11:14:05Z";
const std::string kTuesday = "2026-11-24T09:00:00Z";

GradeRow row(const std::string& swatch, std::optional<int> frost, std::optional<int> chipping,
             const std::string& note = "", const std::string& at = kMonday) {
  return {swatch, frost, chipping, note, "Ann", at, 0};
}

const std::optional<int> none;

}  // namespace

TEST_CASE("a look that found a swatch as it was changes nothing that counts", "[grades][look_round]") {
  for (const auto& [frost, chipping] :
       {std::pair<std::optional<int>, std::optional<int>>{4, 1}, {4, none}, {none, 2}, {none, none}}) {
    const design::Grid grid = test::sample_grid();
    std::vector<GradeRow> rows{row("A1", frost, chipping, "a speck")};
    const SwatchGrade before = effective_grades(grid, rows).front();
    rows.push_back(look_row(before, "", kTuesday));
    CHECK(is_look(rows.back(), before));
    const std::vector<SwatchGrade> after = effective_grades(grid, rows);
    REQUIRE(after.size() == 1);  // one grade, not two
    CHECK(after.front().frost == frost);
    CHECK(after.front().chipping == chipping);
    CHECK(after.front().note == "a speck");
    CHECK(after.front().graded_at == kMonday);  // it is no new grade, say since a setting was found stale
  }
}

TEST_CASE("more chips, and grades typed anew, have the time of their row", "[grades][look_round]") {
  const design::Grid grid = test::sample_grid();
  const std::vector<GradeRow> chips{row("A1", 4, 0), row("A1", none, 1, "", kTuesday)};
  CHECK(effective_grades(grid, chips).front().graded_at == kTuesday);
  const std::vector<GradeRow> anew{row("A1", 4, 0), row("A1", 4, 0, "", kTuesday)};
  CHECK(effective_grades(grid, anew).front().graded_at == kTuesday);
}

TEST_CASE("rounds of looks are counted by their rows", "[grades][look_round]") {
  std::vector<GradeRow> rows{row("A1", 4, 0), row("A2", 3, 1), row("A2", 3, 2)};
  CHECK(look_round(rows).looked_at.empty());  // a correction is no look
  CHECK_FALSE(look_round(rows).complete);
  rows.push_back(row("A1", none, 0, "", kTuesday));
  CHECK(look_round(rows).number == 2);
  CHECK(look_round(rows).looked_at == std::set<std::string>{"A1"});
  CHECK(look_round(rows).last == kTuesday);
  CHECK_FALSE(look_round(rows).complete);
  rows.push_back(row("A2", none, 3));
  CHECK(look_round(rows).complete);
  CHECK(look_round(rows).number == 2);
  rows.push_back(row("B1", 1, 0));  // graded after the others were looked at
  CHECK_FALSE(look_round(rows).complete);
  rows.push_back(row("B1", none, none, std::string(kTakenBack)));
  CHECK(look_round(rows).complete);
  rows.push_back(row("A2", none, 3));
  CHECK(look_round(rows).number == 3);
  CHECK(look_round(rows).looked_at == std::set<std::string>{"A2"});
  rows.push_back(row("A2", none, none, std::string(kTakenBack)));
  CHECK(look_round(rows).looked_at.empty());
  CHECK(look_round(rows).number == 3);
}
