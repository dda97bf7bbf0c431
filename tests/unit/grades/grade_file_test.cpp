#include "grades/grade_file.hpp"

#include <catch2/catch.hpp>

#include "errors/system_error.hpp"
#include "support/file_text.hpp"
#include "support/memory_file_system.hpp"
#include "support/sample_grid.hpp"

using namespace frostcal;
using namespace frostcal::grades;
using test::MemoryFileSystem;

namespace {

const std::string kPath = "/shop/results/0001-amber-jug.csv";
const std::string kHeader = "swatch,frost,chipping,note,grader,graded_at,format\n";
const std::string kTime = "2026-11-25T11:14:05Z";

GradeRow row(const std::string& swatch, std::optional<int> frost, std::optional<int> chipping,
             const std::string& note = "", const std::string& grader = "Ann") {
  return {swatch, frost, chipping, note, grader, kTime, 0};
}

SwatchGrade only(const std::vector<GradeRow>& rows) {
  const std::vector<SwatchGrade> grades = effective_grades(test::sample_grid(), rows);
  REQUIRE(grades.size() == 1);
  return grades[0];
}

std::string faults_of(const std::string& text) {
  errors::FaultList faults;
  parse_grades(text, "g.csv", test::sample_grid(), faults);
  std::string all;
  for (const errors::Fault& fault : faults.faults()) all += to_text(fault) + '\n';
  return all;
}

MemoryFileSystem empty_shop() {
  MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  return disk;
}

}  // namespace

TEST_CASE("grades are written and read back", "[grades][grade_file]") {
  MemoryFileSystem disk = empty_shop();
  const shop::Shop shop = test::sample_shop("/shop");
  const design::Grid grid = test::sample_grid();
  CHECK(read_grades(shop, grid, disk).empty());
  append_grades(shop, grid, {row("A1", 4, 0)}, disk);
  append_grades(shop, grid, {row("B2", std::nullopt, 2, "=dull, \"grey\"", "+Bo")}, disk);
  CHECK(disk.contents(kPath) ==
        kHeader + "A1,4,0,,Ann," + kTime + ",1\nB2,,2,\"'=dull, \"\"grey\"\"\",'+Bo," + kTime + ",1\n");
  const std::vector<GradeRow> rows = read_grades(shop, grid, disk);
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].frost == 4);
  CHECK_FALSE(rows[1].frost);
  CHECK(rows[1].chipping == 2);
  CHECK(rows[1].note == "=dull, \"grey\"");
  CHECK(rows[1].grader == "+Bo");
  CHECK(rows[1].line == 3);
}

TEST_CASE("what counts after several gradings", "[grades][grade_file]") {
  SECTION("a full grading replaces both") {
    const SwatchGrade grade = only({row("A1", 3, 2, "first"), row("A1", 4, 1)});
    CHECK(grade.frost == 4);
    CHECK(grade.chipping == 1);
    CHECK(grade.note == "first");
  }
  SECTION("a later look adds chips and never takes them away") {
    CHECK(only({row("A1", 4, 0), row("A1", std::nullopt, 2)}).chipping == 2);
    CHECK(only({row("A1", 4, 2), row("A1", std::nullopt, 1)}).chipping == 2);
    CHECK(only({row("A1", 4, 2), row("A1", std::nullopt, 1)}).frost == 4);
    CHECK(only({row("A1", 4, 0), row("A1", std::nullopt, 3), row("A1", 4, 1)}).chipping == 1);
    CHECK(only({row("A1", std::nullopt, 1)}).chipping == 1);
    CHECK_FALSE(only({row("A1", std::nullopt, 1)}).frost);
  }
  SECTION("frost alone leaves chipping") {
    CHECK(only({row("A1", 4, 2), row("A1", 3, std::nullopt)}).chipping == 2);
    CHECK(only({row("A1", 4, 2), row("A1", 3, std::nullopt)}).frost == 3);
  }
  SECTION("not gradable, and taken back") {
    const SwatchGrade grade = only({row("A1", 4, 2), row("A1", std::nullopt, std::nullopt, "scratched")});
    CHECK_FALSE(grade.frost);
    CHECK_FALSE(grade.chipping);
    CHECK(effective_grades(test::sample_grid(),
                           {row("A1", 4, 2), row("A1", std::nullopt, std::nullopt, std::string(kTakenBack))})
              .empty());
    CHECK(only({row("A1", 4, 2), row("A1", std::nullopt, std::nullopt, std::string(kTakenBack)),
                row("A1", std::nullopt, 0)})
              .chipping == 0);
  }
  SECTION("graders are kept apart, swatches come in the grid's order") {
    const auto grades = effective_grades(
        test::sample_grid(), {row("C1", 1, 1), row("A1", 4, 0), row("A1", 2, 3, "", "Bo"), row("C1", 2, 2)});
    REQUIRE(grades.size() == 3);
    CHECK(grades[0].swatch == "A1");
    CHECK(grades[0].grader == "Ann");
    CHECK(grades[1].grader == "Bo");
    CHECK(grades[1].chipping == 3);
    CHECK(grades[2].frost == 2);
  }
}

TEST_CASE("every fault of a results file is named", "[grades][grade_file]") {
  CHECK(
      faults_of(kHeader + "A9,4,0,,Ann," + kTime + "\nA1,7,four,,Ann," + kTime + "\nA1,4,-1,,,yesterday\n") ==
      "g.csv:2:1: swatch: found \"A9\", expected a swatch of this grid (A1 to D3); did you mean A1?\n"
      "g.csv:3:4: frost: found \"7\", expected a whole number from 0 to 5\n"
      "g.csv:3:6: chipping: found \"four\", expected a whole number from 0 to 3; write a number in digits\n"
      "g.csv:4:6: chipping: found \"-1\", expected a whole number from 0 to 3\n"
      "g.csv:4:10: grader: found an empty cell, expected who graded\n"
      "g.csv:4:11: graded_at: found \"yesterday\", expected a time such as 2026-11-25T11:14:05Z\n");
  CHECK(faults_of(kHeader).empty());
}

TEST_CASE("a file cut at any byte gives the whole rows before the cut", "[grades][grade_file]") {
  const shop::Shop shop = test::sample_shop("/shop");
  const design::Grid grid = test::sample_grid();
  const std::string first = "A1,4,0,\"a note, with comma\",Ann," + kTime + ",1\n";
  const std::string full = kHeader + first + "B2,3,1,,Ann," + kTime + ",1\n";
  const std::size_t spare = std::string(",1\n").size();  // a row is whole with its time
  for (std::size_t length = 0; length <= full.size(); ++length) {
    MemoryFileSystem disk = empty_shop();
    disk.put(kPath, full.substr(0, length));
    INFO("cut after " << length);
    std::size_t expected = length + spare >= kHeader.size() + first.size() ? 1 : 0;
    if (length + spare >= full.size()) expected = 2;
    CHECK(read_grades(shop, grid, disk).size() == expected);
    append_grades(shop, grid, {row("C3", 5, 0)}, disk);
    const std::vector<GradeRow> rows = read_grades(shop, grid, disk);
    CHECK(rows.size() == expected + 1);
    CHECK(rows.back().swatch == "C3");
  }
}

// A grades file carries no checksum (people edit it), so a flipped bit may turn one grade into another. What
// is promised: no crash, and a result that is either refused or made of valid rows.
TEST_CASE("a flipped bit is refused or gives valid rows", "[grades][grade_file]") {
  const shop::Shop shop = test::sample_shop("/shop");
  const design::Grid grid = test::sample_grid();
  const std::string full = kHeader + "A1,4,0,\"two\nlines\",Ann," + kTime + "\nB2,3,1,,Bo," + kTime + "\n";
  std::size_t refused = 0;
  for (std::size_t bit = 0; bit < 8 * full.size(); ++bit) {
    std::string damaged = full;
    damaged[bit / 8] = static_cast<char>(damaged[bit / 8] ^ (1 << (bit % 8)));
    MemoryFileSystem disk = empty_shop();
    disk.put(kPath, damaged);
    try {
      for (const GradeRow& found : read_grades(shop, grid, disk)) {
        const bool frost_ok = !found.frost || (*found.frost >= 0 && *found.frost <= 5);
        const bool chipping_ok = !found.chipping || (*found.chipping >= 0 && *found.chipping <= 3);
        CHECK(frost_ok);
        CHECK(chipping_ok);
        CHECK(grid.swatches.end() !=
              std::find_if(grid.swatches.begin(), grid.swatches.end(),
                           [&](const auto& swatch) { return swatch.id == found.swatch; }));
      }
    } catch (const errors::UserError&) {
      ++refused;
    }
  }
  CHECK(refused > 400);
}

TEST_CASE("acknowledged grades survive a power cut at any call", "[grades][grade_file]") {
  const shop::Shop shop = test::sample_shop("/shop");
  const design::Grid grid = test::sample_grid();
  std::mt19937 random(99);
  int cuts = 0;
  for (int nth = 1; nth < 300; ++nth) {
    bool finished = false;
    for (int round = 0; round < 15; ++round) {
      MemoryFileSystem disk = empty_shop();
      disk.fail(nth, MemoryFileSystem::Fault::power_cut);
      std::size_t acknowledged = 0;
      finished = false;
      try {
        for (std::size_t i = 0; i < 3; ++i) {
          append_grades(shop, grid, {row(grid.swatches[i].id, 4, 0, "x")}, disk);
          acknowledged = i + 1;
        }
        finished = true;
      } catch (const test::PowerCut&) {
        ++cuts;
      }
      disk.crash(random);
      const std::vector<GradeRow> rows = read_grades(shop, grid, disk);
      INFO("call " << nth);
      CHECK(rows.size() >= acknowledged);
      CHECK(rows.size() <= acknowledged + 1);
      for (std::size_t i = 0; i < rows.size(); ++i) CHECK(rows[i].swatch == grid.swatches[i].id);
    }
    if (finished) break;
  }
  CHECK(cuts > 200);
}

namespace {

// As version 0.1.0 wrote it before rows said their format.
std::string old_form() {
  return test::file_text("tests/unit/grades/data/results_without_format.csv");
}

}  // namespace

TEST_CASE("a results file of the old form, without a format, is read and continued as it is",
          "[grades][grade_file]") {
  const shop::Shop shop = test::sample_shop("/shop");
  const design::Grid grid = test::sample_grid();
  MemoryFileSystem disk = empty_shop();
  disk.put(kPath, old_form());
  const std::vector<GradeRow> rows = read_grades(shop, grid, disk);
  REQUIRE(rows.size() == 3);
  CHECK(rows[1].swatch == "A2");
  CHECK(rows[1].chipping == 1);
  CHECK(rows[1].note == "=speck, at the rim");
  append_grades(shop, grid, {row("B1", 5, 0)}, disk);
  CHECK(disk.contents(kPath) == old_form() + "B1,5,0,,Ann," + kTime + "\n");
  CHECK(read_grades(shop, grid, disk).size() == 4);
}

TEST_CASE("grades of a newer format are refused as such, whatever else is new in them",
          "[grades][grade_file]") {
  const std::string newer = "swatch,whiteness,chipping,note,grader,graded_at,format\nA1,9,0,,Ann," + kTime +
                            ",1\n" + "A2,99,0,,Ann," + kTime + ",2\n";
  const std::string fault =
      "format: found format 2, expected format 1; a newer frostcal wrote this row; use that one";
  CHECK(faults_of(newer) == "g.csv:3:35: " + fault + "\n");
  const shop::Shop shop = test::sample_shop("/shop");
  const design::Grid grid = test::sample_grid();
  MemoryFileSystem disk = empty_shop();
  disk.put(kPath, newer);
  CHECK_THROWS_WITH(append_grades(shop, grid, {row("B1", 5, 0)}, disk), Catch::Matchers::Contains(fault));
  CHECK(disk.contents(kPath) == newer);
  CHECK_THROWS_WITH(read_grades(shop, grid, disk), Catch::Matchers::EndsWith(fault));
  // A row that people added says nothing of its format.
  CHECK(faults_of(kHeader + "A1,4,0,,Ann," + kTime + ",\nA2,4,0,,Ann," + kTime + "\nA3,4,0,,Ann," + kTime +
                  ",1\n")
            .empty());
  CHECK(faults_of(kHeader + "A1,4,0,,Ann," + kTime + ",one\n") ==
        "g.csv:2:34: format: found \"one\", expected format 1\n");
}
