#include "grades/grade_entry.hpp"

#include <catch2/catch.hpp>

#include "grades/grade_file.hpp"
#include "support/sample_grid.hpp"

using namespace frostcal;
using namespace frostcal::grades;
using Catch::Matchers::Contains;

namespace {

const std::string kNow = "2026-11-25T11:14:05Z";

/// Plays lines into an entry and keeps the file's rows.
struct Sitting {
  design::Grid grid = test::sample_grid();
  shop::GradeScale scale;
  std::vector<GradeRow> rows;
  std::optional<GradeEntry> entry;
  std::size_t keys = 0;
  std::string now = kNow;

  void start(const std::string& grader = "Ann", bool again = false) {
    entry.emplace(grid, scale, rows, GradeEntry::Options{grader, again, "", shop::Side::left});
  }
  std::string type(const std::string& line) {
    keys += line.size() + 1;
    (void)entry->prompt();
    const GradeEntry::Step step = entry->take(line, now);
    rows.insert(rows.end(), step.rows.begin(), step.rows.end());
    if (!step.rows.empty()) entry->saved();
    return step.text;
  }
  std::string at() {
    const std::string prompt = entry->prompt();
    const std::size_t line = prompt.rfind('\n');
    return line == std::string::npos ? prompt : prompt.substr(line + 1);
  }
  std::string counted(const std::string& swatch, const std::string& grader = "Ann") {
    for (const SwatchGrade& grade : effective_grades(grid, rows)) {
      if (grade.swatch != swatch || grade.grader != grader) continue;
      return (grade.frost ? std::to_string(*grade.frost) : "-") + ' ' +
             (grade.chipping ? std::to_string(*grade.chipping) : "-");
    }
    return "none";
  }
};

}  // namespace

TEST_CASE("the reference comes first, then the eye's order, with place, map and count",
          "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  CHECK(sitting.entry->greeting() ==
        "0001-amber-jug: 0 of 12 graded by Ann. Type frost and chipping, such as 4 0.\n"
        "The reference swatch comes first: settle on its grade with "
        "whoever "
        "grades\nbesides you, and measure the others by it.\n"
        "u takes back, s skips, n adds a note, B7 goes to B7, m map, ? words of the grades, q stops.\n");
  CHECK(sitting.entry->prompt() ==
        "  @ .  neck up\n"
        "  . .\n"
        "  . .\n"
        "amber-jug-2, column 1 of 2, place 1 of 3 from the neck, above D2; 12 of 12 left\n"
        "D1 (reference)> ");
  CHECK(sitting.type("4 0") == "D1: frost 4, chipping 0\n");
  CHECK(sitting.entry->prompt() ==
        "  . @  neck up\n"
        "  . .\n"
        "  . .\n"
        "amber-jug-1, column 2 of 2, place 1 of 3 from the neck, above A2; 11 of 12 left\n"
        "A1> ");
  sitting.type("3,1");
  CHECK(sitting.entry->prompt() ==
        "amber-jug-1, column 2 of 2, place 2 of 3 from the neck, between A1 and A3; 10 of 12 left\nA2> ");
  CHECK(sitting.entry->prompt().find("61") == std::string::npos);  // no setting
}

TEST_CASE("held by the neck on the right, the map is that of the standing bottle too",
          "[grades][grade_entry]") {
  const design::Grid grid = test::sample_grid();
  const std::vector<GradeRow> none;
  const shop::GradeScale scale;
  GradeEntry entry(grid, scale, none, {"Ann", false, "", shop::Side::right});
  CHECK(entry.prompt().rfind("  . @  neck up\n ", 0) == 0);
}

TEST_CASE("a note that would undo the grade is refused", "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  CHECK_THAT(sitting.type("n taken back"), Catch::Matchers::Contains("say it in other words"));
  sitting.type("- -");
  CHECK(sitting.counted("D1") == "- -");
}

TEST_CASE("a whole grid takes four keys a swatch", "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  for (int i = 0; i < 12; ++i) sitting.type("4 0");
  CHECK(sitting.keys == 48);
  CHECK(sitting.rows.size() == 12);
  CHECK(sitting.at() == "All 12 graded. Enter to finish, u takes back the last> ");
  CHECK_FALSE(sitting.entry->finished());
  sitting.type("");
  CHECK(sitting.entry->finished());
  CHECK(sitting.entry->left() == 0);
}

TEST_CASE("wrong lines keep the place and say what is expected", "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  for (const std::string line :
       {"40", "6 0", "4 4", "four 0", "4", "4 0 0", "4,,0", "-1 0", "4;0", "4 0x", "Z"}) {
    INFO(line);
    CHECK_THAT(sitting.type(line), Contains("expected frost 0 to 5, a blank, chipping 0 to 3, such as 4 0"));
    CHECK(sitting.at() == "D1 (reference)> ");
  }
  CHECK_THAT(sitting.type("-"), Contains("- - when neither can be given"));
  CHECK_THAT(sitting.type("Z9"), Contains("found \"Z9\", expected a swatch of this grid (A1 to D3)"));
  CHECK(sitting.rows.empty());
  for (const std::string line : {"4 0", " 4  0 ", "4/0", "4 , 0", "4\t0", "4 0\r", "- 0", "- -", "4 -"}) {
    INFO(line);
    CHECK_THAT(sitting.type(line), Contains(": frost "));
  }
  CHECK(sitting.rows.size() == 9);
}

TEST_CASE("undo, skip, jump, note, words and stop", "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  sitting.type("4 0");
  sitting.type("3 1");
  CHECK(sitting.type("u") == "took back A1: frost 3, chipping 1\n");
  CHECK(sitting.at() == "A1> ");
  CHECK(sitting.counted("A1") == "none");
  sitting.type("2 2");
  CHECK(sitting.counted("A1") == "2 2");
  CHECK(sitting.type("s").empty());
  CHECK(sitting.at() == "A3> ");
  CHECK(sitting.type("a1").empty());
  CHECK(sitting.at() == "A1 [2 2]> ");
  sitting.type("5 0");
  CHECK(sitting.counted("A1") == "5 0");
  CHECK(sitting.type("u") == "took back A1: frost 5, chipping 0\n");
  CHECK(sitting.counted("A1") == "2 2");
  sitting.type("B1");
  CHECK(sitting.type("N A hair") == "noted; saved with the grade of B1\n");
  CHECK(sitting.type("n a hair on the lens") == "noted; saved with the grade of B1\n");
  CHECK(sitting.at() == "B1 (note)> ");
  CHECK(sitting.type("1 0") == "B1: frost 1, chipping 0 (with note)\n");
  CHECK(sitting.rows.back().note == "a hair on the lens");
  CHECK(sitting.type("u") == "took back B1: frost 1, chipping 0; its note waits for the right grade\n");
  CHECK(sitting.at() == "B1 (note)> ");
  sitting.type("2 0");
  CHECK(sitting.rows.back().note == "a hair on the lens");
  sitting.type("n");
  CHECK(sitting.at() == "note for B2> ");
  sitting.type("Q is a letter here");
  CHECK(sitting.type("s") == "the note for B2 is dropped: it was not graded\n");
  CHECK_THAT(sitting.type("?"), Contains("4  even frost") && Contains("2  flakes visible at arm's length"));
  CHECK_THAT(sitting.type("M"), Contains("@"));
  sitting.type("Q");
  CHECK(sitting.entry->finished());
  CHECK(sitting.entry->left() == 9);
}

TEST_CASE("skipped swatches come again, and nothing is taken back twice", "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  CHECK_THAT(sitting.type("u"), Contains("nothing to take back"));
  sitting.type("s");
  for (int i = 0; i < 11; ++i) sitting.type("4 0");
  CHECK(sitting.at() == "D1 (reference)> ");
  CHECK_THAT(sitting.type("s"), Contains("D1 is the only one left"));
  sitting.type("3 0");
  for (int i = 0; i < 12; ++i) sitting.type("u");
  CHECK_THAT(sitting.type("u"), Contains("nothing to take back"));
  CHECK(effective_grades(sitting.grid, sitting.rows).empty());
}

TEST_CASE("a sitting resumes, and a second grader starts afresh", "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  sitting.type("4 0");
  sitting.type("3 1");
  sitting.start();
  CHECK_THAT(sitting.entry->greeting(), Contains("2 of 12 graded by Ann"));
  CHECK(sitting.at() == "A2> ");
  sitting.start("Bo");
  CHECK(sitting.at() == "D1 (reference)> ");
  sitting.type("1 3");
  CHECK(sitting.counted("D1", "Bo") == "1 3");
  CHECK(sitting.counted("D1") == "4 0");
}

TEST_CASE("a second look needs only what changed, and later chips count", "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  for (const char* line : {"4 0", "3 1", "5 0", "2 2", "q"}) sitting.type(line);
  sitting.start("Ann", true);
  CHECK(sitting.entry->total() == 4);
  CHECK_THAT(sitting.entry->greeting(),
             Catch::Matchers::StartsWith("Second look at 4 swatches of 0001-amber-jug by Ann. Enter:"));
  const std::size_t before = sitting.rows.size();
  CHECK(sitting.at() == "D1 (reference) [4 0]> ");
  CHECK(sitting.type("") == "D1: as it was\n");
  CHECK(sitting.rows.size() == before + 1);
  CHECK(sitting.counted("D1") == "4 0");
  CHECK(sitting.type("2") == "A1: chipping 2\n");
  CHECK(sitting.counted("A1") == "3 2");
  CHECK(sitting.type("4 0") == "A2: frost 4, chipping 0\n");
  CHECK_THAT(sitting.type("1"), Contains("the earlier look saw chipping 2"));
  CHECK(sitting.counted("A3") == "2 2");
  CHECK(sitting.at() == "All 4 looked at. Enter to finish, u takes back the last> ");
  sitting.type("u");
  CHECK(sitting.at() == "A3 [2 2]> ");
  CHECK_THAT(sitting.type("B1"), Contains("B1 has no grade of Ann"));
  sitting.type("n flaked overnight");
  sitting.type("");
  CHECK(sitting.rows.back().note == "flaked overnight");
  CHECK(sitting.counted("A3") == "2 2");
  sitting.start("Bo", true);
  CHECK_THAT(sitting.entry->greeting(), Contains("Nothing of Bo"));
}

TEST_CASE("a later look resumes where it stopped, and when it saw all the next one begins",
          "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  for (const char* line : {"4 0", "3 1", "5 -", "- -", "q"}) sitting.type(line);
  sitting.now = "2026-11-26T09:00:00Z";
  sitting.start("Ann", true);
  for (const char* line : {"", "4 1", "", "q"})
    sitting.type(line);                  // as it was, typed anew, no chipping known
  sitting.now = "2026-11-27T09:00:00Z";  // on whichever day
  sitting.start("Ann", true);
  CHECK(sitting.entry->left() == 1);
  CHECK(sitting.at() == "A3 [- -]> ");
  CHECK_THAT(sitting.entry->greeting(),
             Contains("Second look at 4 swatches of 0001-amber-jug by Ann, 3 of them seen by 2026-11-26."));
  sitting.type("s");  // the only one
  sitting.type("");
  CHECK(sitting.counted("D1") == "4 0");
  CHECK(sitting.counted("A1") == "4 1");
  CHECK(sitting.counted("A2") == "5 -");
  CHECK(sitting.counted("A3") == "- -");
  sitting.start("Ann", true);
  CHECK(sitting.entry->left() == 4);
  CHECK_THAT(sitting.entry->greeting(),
             Contains("Third look at 4 swatches of 0001-amber-jug by Ann; the one before it ended on "
                      "2026-11-27."));
  sitting.type("");
  sitting.start("Ann", true);
  CHECK(sitting.entry->left() == 3);
  sitting.start("Ann");  // a swatch that is graded later belongs to the round that is going on
  sitting.type("1 0");
  sitting.start("Ann", true);
  CHECK(sitting.entry->left() == 4);
  CHECK(sitting.entry->total() == 5);
}

TEST_CASE("a look that is taken back leaves no look and the grade as it was", "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  for (const char* line : {"4 0", "3 1", "q"}) sitting.type(line);
  const std::string first_day = sitting.now;
  sitting.now = "2026-11-26T09:00:00Z";
  sitting.start("Ann", true);
  sitting.type("2");  // D1
  CHECK(sitting.type("") == "A1: as it was\n");
  CHECK(sitting.type("u") == "took back A1: as it was\n");
  CHECK(sitting.counted("A1") == "3 1");
  CHECK(effective_grades(sitting.grid, sitting.rows).front().graded_at == first_day);  // A1
  sitting.start("Ann", true);
  CHECK(sitting.at() == "A1 [3 1]> ");
  CHECK(sitting.entry->left() == 1);
  sitting.type("D1");  // seen already: to take back a further look at it leaves the first one
  sitting.type("3");
  CHECK(sitting.counted("D1") == "4 3");
  sitting.type("u");
  CHECK(sitting.counted("D1") == "4 2");
  sitting.start("Ann", true);
  CHECK(sitting.entry->left() == 1);
}

TEST_CASE("what is graded under the same name elsewhere is said, and not replaced unasked",
          "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  const auto elsewhere = [&](const std::string& swatch, int frost, const std::string& grader = "Ann") {
    sitting.rows.push_back({swatch, frost, 0, "", grader, kNow, 0});
  };
  sitting.type("4 0");
  CHECK(sitting.entry->refresh(sitting.rows, false).text.empty());  // its own rows are no news
  elsewhere("A1", 2, "Bo");
  CHECK(sitting.entry->refresh(sitting.rows, false).text.empty());
  CHECK(sitting.at() == "A1> ");
  elsewhere("A1", 2);
  elsewhere("B2", 5);
  const GradeEntry::Meanwhile before_asking = sitting.entry->refresh(sitting.rows, false);
  CHECK(before_asking.text ==
        "meanwhile graded as Ann elsewhere, another terminal perhaps: A1 (2 0), B2 (5 0)\n");
  CHECK(sitting.at() == "A2> ");
  CHECK(sitting.entry->left() == 9);
  elsewhere("A2", 3);
  const GradeEntry::Meanwhile after_asking = sitting.entry->refresh(sitting.rows, true);
  CHECK(after_asking.here);
  CHECK(sitting.at() == "A2 [3 0]> ");
  elsewhere("A3", 3);
  CHECK_FALSE(sitting.entry->refresh(sitting.rows, true).here);
  sitting.type("4 1");
  CHECK(sitting.counted("A2") == "4 1");
  elsewhere("D1", 1);  // then u must not put the first grade back over it
  CHECK(sitting.entry->refresh(sitting.rows, false).text ==
        "meanwhile graded as Ann elsewhere, another terminal perhaps: D1 (1 0)\n");
  sitting.type("u");
  CHECK(sitting.counted("A2") == "3 0");
  CHECK_THAT(sitting.type("u"), Contains("nothing to take back"));
  CHECK(sitting.counted("D1") == "1 0");
}

TEST_CASE("a later look goes on without what is withdrawn meanwhile", "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  for (const char* line : {"4 0", "3 1", "5 0", "2 2"}) sitting.type(line);  // D1 A1 A2 A3
  sitting.start("Ann", true);
  const auto withdraw = [&](const std::string& swatch) {
    sitting.rows.push_back(
        {swatch, std::nullopt, std::nullopt, std::string(kTakenBack), "Ann", "2026-11-26T11:14:05Z", 0});
  };
  sitting.type("");  // D1
  REQUIRE(sitting.at() == "A1 [3 1]> ");
  sitting.type("n a chip");
  withdraw("A1");
  const GradeEntry::Meanwhile asked = sitting.entry->refresh(sitting.rows, true);
  CHECK(asked.here);
  CHECK(asked.text ==
        "meanwhile graded as Ann elsewhere, another terminal perhaps: A1 (taken back)\n"
        "the note for A1 is dropped: it was not graded\n");
  CHECK(sitting.at() == "A2 [5 0]> ");
  CHECK(sitting.entry->total() == 3);
  withdraw("D1");  // looked at already
  CHECK_FALSE(sitting.entry->refresh(sitting.rows, false).here);
  CHECK(sitting.at() == "A2 [5 0]> ");
  CHECK(sitting.type("1") == "A2: chipping 1\n");
  CHECK(sitting.type("u") == "took back A2: chipping 1\n");
  CHECK(sitting.at() == "A2 [5 0]> ");
  withdraw("A3");
  withdraw("A2");
  CHECK(sitting.entry->refresh(sitting.rows, true).here);
  CHECK(sitting.entry->total() == 0);
  CHECK(sitting.at() == "Nothing is left to look at again. Enter to finish> ");
  for (const char* line : {"u", "s", "m", "A1", "4 0", "1"}) sitting.type(line);
  CHECK(sitting.type("") == "");
  CHECK(sitting.entry->finished());
}

TEST_CASE("a note that no file can hold is refused", "[grades][grade_entry]") {
  Sitting sitting;
  sitting.start();
  const std::string too_long(1001, 'x');
  for (const std::string& note : {std::string("f\xfcr"), std::string("a\x1b[A"), too_long}) {
    const GradeEntry::Step step = sitting.entry->take("n " + note, kNow);
    CHECK(step.refused);
    CHECK_THAT(step.text, Contains("note: found ") && Contains(", expected "));
  }
  sitting.type("n a\tb");
  sitting.type("4 0");
  CHECK(sitting.rows.back().note == "a b");
}

TEST_CASE("the map puts swatches at the same x under one another", "[grades][grade_entry]") {
  design::Grid grid = test::sample_grid();
  grid.swatches.resize(6);                         // A1 A2 A3 over B1 B2 B3
  grid.swatches.erase(grid.swatches.begin() + 1);  // A1 . A3
  grid.swatches.erase(grid.swatches.begin());      // .  . A3
  grid.swatches[0].x_mm += 1;                      // not quite in line
  grid.swatches.erase(grid.swatches.begin() + 2);  // B1 . B3
  const std::vector<GradeRow> none;
  const shop::GradeScale scale;
  GradeEntry entry(grid, scale, none, {"Ann", false, "", shop::Side::left});
  CHECK(entry.prompt() ==
        "  .    neck up\n"
        "  . @\n"
        "amber-jug-1, column 2 of 2, place 1 of 1 from the neck; 3 of 3 left\n"
        "A3> ");
  grid.swatches[2].x_mm = 30;  // B3, right of A3 now
  GradeEntry again(grid, scale, none, {"Ann", false, "", shop::Side::left});
  CHECK(again.prompt().rfind("  .    neck up\n    @\n  .\namber-", 0) == 0);
}
