#include "grades/grade_import.hpp"

#include <catch2/catch.hpp>

#include "errors/user_error.hpp"
#include "grades/grade_file.hpp"
#include "support/sample_grid.hpp"

using namespace frostcal;
using namespace frostcal::grades;

namespace {

const ImportDefaults kDefaults{"Ann", "2026-11-25T11:14:05Z"};

std::vector<GradeRow> import(const std::string& text, const ImportDefaults& defaults = kDefaults) {
  return parse_grade_import(text, "in.csv", test::sample_grid(), defaults);
}

std::string refusal(const std::string& text, const ImportDefaults& defaults = kDefaults) {
  try {
    import(text, defaults);
  } catch (const errors::UserError& error) {
    return error.what();
  }
  return "(accepted)";
}

}  // namespace

TEST_CASE("grades come in as spreadsheets write them", "[grades][grade_import]") {
  for (const std::string text : {
           "swatch,frost,chipping\nA1,4,0\nB2,5,1\n",
           "\xEF\xBB\xBF\"Swatch\";\"Frost\";\"Chipping\"\r\n\"A1\";\"4,0\";\"0\"\r\nb2;5;1\r\n",
           "sep=;\r\nchipping;frost;bottle;swatch\r\n0;4;amber-jug-1;A1\r\n1,0;5,0;;B02\r\n;;z;C1\r\n",
           "swatch\tfrost\tchipping\nA1\t4.0\t0\nB2\t5\t1\nC1\t\t\n\t\t\n",
       }) {
    INFO(text);
    const std::vector<GradeRow> rows = import(text);
    REQUIRE(rows.size() == 2);
    CHECK(rows[0].swatch == "A1");
    CHECK(rows[0].frost == 4);
    CHECK(rows[0].chipping == 0);
    CHECK(rows[1].swatch == "B2");
    CHECK(rows[1].chipping == 1);
    CHECK(rows[1].grader == "Ann");
    CHECK(rows[1].graded_at == kDefaults.graded_at);
  }
}

TEST_CASE("a dash is a grade that cannot be given", "[grades][grade_import]") {
  const std::vector<GradeRow> rows = import("swatch,frost,chipping\nA1,4,-\nB2,-,-\nC1,,\n");
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].frost == 4);
  CHECK_FALSE(rows[0].chipping);
  CHECK_FALSE(rows[1].frost);
  CHECK_FALSE(rows[1].chipping);
}

TEST_CASE("note, grader and time are taken when they are there", "[grades][grade_import]") {
  const auto rows = import(
      "swatch,frost,chipping,note,grader,graded_at\nA1,,,scratched,Bo,2026-11-24T09:00:00Z\nB1,4,,'=x,,\n"
      "B2,4,,,,2026-05-01\n");
  REQUIRE(rows.size() == 3);
  CHECK(rows[2].graded_at == "2026-05-01T00:00:00Z");
  CHECK_FALSE(rows[0].frost);
  CHECK(rows[0].note == "scratched");
  CHECK(rows[0].grader == "Bo");
  CHECK(rows[0].graded_at == "2026-11-24T09:00:00Z");
  CHECK(rows[1].note == "=x");
  CHECK(rows[1].grader == "Ann");
  CHECK(rows[1].graded_at == kDefaults.graded_at);
  // The same swatch by two graders is no doubling.
  CHECK(import("swatch,frost,chipping,grader\nA1,4,0,Ann\nA1,3,0,Bo\n").size() == 2);
}

TEST_CASE("all faults of an import are listed and nothing is taken", "[grades][grade_import]") {
  CHECK(refusal("swatch,frost,chipping\nA1,7,0\nA2,four,0\nE1,4,0\nA3,4,0\nB1,4000,0\na3,4,1.5\n") ==
        "in.csv:2:4: frost: found \"7\", expected a whole number from 0 to 5\n"
        "in.csv:3:4: frost: found \"four\", expected a whole number from 0 to 5; write a number in digits\n"
        "in.csv:4:1: swatch: found \"E1\", expected a swatch of this grid (A1 to D3); did you mean A1?\n"
        "in.csv:6:4: frost: found \"4000\", expected a whole number from 0 to 5; looks as if a spreadsheet "
        "read 4 "
        "as thousands\n"
        "in.csv:7:6: chipping: found \"1.5\", expected a whole number from 0 to 3\n"
        "in.csv:7:1: swatch: found \"A3\" a second time (first on line 5), expected each swatch once; remove "
        "one "
        "of the two rows");
  CHECK(refusal("swatch,frost,chipping\n") ==
        "in.csv: found no grades, expected a row with frost and chipping for each graded swatch");
  CHECK(refusal("swatch,frost,chipping\nA1,,\n") == refusal("swatch,frost,chipping\n"));
  CHECK(refusal("") ==
        "in.csv: found an empty file, expected a header row with the columns swatch, frost, chipping");
  CHECK(refusal("swatch,frost,chipping\nA1,4,0\n", {"", kDefaults.graded_at}) ==
        "in.csv:2: grader: found no grader, expected who graded; add --grader NAME");
  CHECK(refusal("swatch,frost,chipping\nA1,4 0\n") ==
        "in.csv:2: found 2 cells, expected 3, as in the header");
  CHECK(refusal("swatch,frost,chipping,note\nA1,4,0,gr\xFCn\n").find("not UTF-8") != std::string::npos);
}

TEST_CASE("the empty form hides the settings and comes back", "[grades][grade_import]") {
  const std::string form = grade_form(test::sample_grid());
  CHECK(form.substr(0, 70) == "swatch,bottle,frost,chipping,note\nD1,amber-jug-2,,,\nA1,amber-jug-1,,,\n");
  CHECK(form.find("60") == std::string::npos);
  std::string filled = form;
  filled.replace(filled.find("amber-jug-1,,,"), 14, "amber-jug-1,4,1,");
  REQUIRE(import(filled).size() == 1);
  CHECK(import(filled)[0].chipping == 1);
}

TEST_CASE("the form of another grid is refused by its bottles", "[grades][grade_import]") {
  CHECK_THAT(refusal("swatch,bottle,frost,chipping\nA1,amber-jug-7,4,0\n"),
             Catch::Matchers::Contains("in.csv:2:4") &&
                 Catch::Matchers::Contains("found \"amber-jug-7\", expected \"amber-jug-1\"") &&
                 Catch::Matchers::Contains("is this the form of another grid?"));
}

TEST_CASE("a grader who is missing everywhere is asked for once", "[grades][grade_import]") {
  const std::string text = refusal("swatch,frost,chipping\nA1,4,0\nA2,4,0\n", {"", "2026-11-25T11:14:05Z"});
  CHECK(text.find("no grader") != std::string::npos);
  CHECK(text.find("no grader") == text.rfind("no grader"));
}

TEST_CASE("a time that can't be read or is still to come is refused", "[grades][grade_import]") {
  const auto at = [](const std::string& time) {
    return refusal("swatch,frost,chipping,graded_at\nA1,4,0," + time + "\n");
  };
  using Catch::Matchers::Contains;
  for (const char* time : {"26.11.2026", "2026-02-30", "2026-11-25 11:14", "yesterday", "2026-11-2"}) {
    CHECK_THAT(at(time), Contains("in.csv:2:8: graded_at: found \"" + std::string(time) + "\"") &&
                             Contains("expected a day such as 2026-11-25"));
  }
  CHECK_THAT(at("2099-01-01T00:00:00Z"), Contains("2099-01-01T00:00:00Z, which is still to come"));
  CHECK_THAT(at("2026-11-27"), Contains("which is still to come"));
  CHECK(at("2026-11-26") == "(accepted)");  // clocks differ, and so do time zones
}

TEST_CASE("an import keeps what a later look saw, and adds nothing that is there", "[grades][grade_import]") {
  const design::Grid grid = test::sample_grid();
  const auto row = [](const char* swatch, std::optional<int> frost, std::optional<int> chipping,
                      const char* grader = "Ann") {
    return GradeRow{swatch, frost, chipping, "", grader, "2026-11-25T11:14:05Z", 0};
  };
  const std::vector<GradeRow> before{row("A1", 4, 0), row("A2", 4, 2),  row("A3", 5, 0), row("A1", {}, 1),
                                     row("B1", 4, 0), row("B1", {}, 2), row("B1", 4, 1)};
  const std::vector<GradeRow> form{row("A1", 4, 0), row("A2", 4, 0), row("A3", 5, 0), row("A3", 5, 0, "Bo"),
                                   row("B1", 4, 0)};
  const ImportChange change = change_by_import(grid, before, form);
  CHECK(change.later_looks == std::vector<std::string>{"A1"});
  CHECK(change.same == 2);      // A1 and A3
  CHECK(change.replaced == 2);  // A2 and B1, whose later look was corrected by hand
  REQUIRE(change.rows.size() == 3);
  CHECK(change.rows[1].grader == "Bo");
  std::vector<GradeRow> all = before;
  all.insert(all.end(), change.rows.begin(), change.rows.end());
  CHECK(effective_grades(grid, all).front().chipping == 1);
  // Its frost may be corrected all the same.
  const ImportChange frost = change_by_import(grid, before, {row("A1", 3, 0)});
  REQUIRE(frost.rows.size() == 1);
  CHECK(frost.rows[0].frost == 3);
  CHECK_FALSE(frost.rows[0].chipping);
}

TEST_CASE("chipping that a corrected form leaves empty is taken back", "[grades][grade_import]") {
  const design::Grid grid = test::sample_grid();
  const auto row = [](const char* swatch, std::optional<int> frost, std::optional<int> chipping) {
    return GradeRow{swatch, frost, chipping, "", "Zed", "2026-11-25T11:14:05Z", 0};
  };
  std::vector<GradeRow> before{row("A1", 4, 2), row("A2", 4, 0), row("A2", {}, 2), row("A3", 4, {})};
  before[0].note = "simulated";
  const std::vector<GradeRow> form{row("A1", 3, {}), row("A2", 4, {}), row("A3", 4, {}), row("B1", 5, {})};
  const ImportChange change = change_by_import(grid, before, form);
  CHECK(change.graded == 2);  // A1 and B1
  CHECK(change.replaced == 1);
  CHECK(change.same == 2);
  CHECK(change.later_looks == std::vector<std::string>{"A2"});  // flakes that were seen are there
  REQUIRE(change.rows.size() == 3);
  CHECK(takes_back(change.rows[0]));
  std::vector<GradeRow> all = before;
  all.insert(all.end(), change.rows.begin(), change.rows.end());
  const std::vector<SwatchGrade> grades = effective_grades(grid, all);
  REQUIRE(grades.size() == 4);
  CHECK(grades[0].frost == 3);
  CHECK_FALSE(grades[0].chipping);
  CHECK(grades[0].note == "simulated");
  CHECK(grades[1].chipping == 2);
  // Once more it changes nothing; a later look then begins anew.
  CHECK(change_by_import(grid, all, form).rows.empty());
  all.push_back(row("A1", {}, 1));
  CHECK(effective_grades(grid, all)[0].chipping == 1);
}

TEST_CASE("a spreadsheet's own file is to be saved as CSV", "[grades][grade_import]") {
  CHECK_THAT(refusal(std::string("PK\x03\x04\x14\0\0", 7)), Catch::Matchers::Contains("save it as CSV"));
}
