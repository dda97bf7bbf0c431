#include "grades/measured_column.hpp"

#include <catch2/catch.hpp>

using Catch::Matchers::WithinRel;
using namespace frostcal;
using namespace frostcal::grades;

namespace {

design::Grid three_swatches() {
  design::Grid grid;
  grid.id = "0001-jug";
  for (const char* id : {"A1", "A2", "B1"}) {
    design::Swatch swatch;
    swatch.id = id;
    grid.swatches.push_back(swatch);
  }
  return grid;
}

struct Read {
  MeasuredColumn column;
  errors::FaultList faults;
};

Read read(const std::string& text, const std::string& as_of = "") {
  Read result;
  result.column = parse_measured(text, "r.csv", three_swatches(), "gloss", as_of, result.faults);
  return result;
}

const std::string kHead = "swatch,frost,chipping,note,gloss,grader,graded_at\n";

}  // namespace

TEST_CASE("the last value of each grader counts, and graders are averaged", "[grades][measured]") {
  const Read got = read(kHead +
                        "B1,4,0,,10,Ann,2026-11-25T11:00:00Z\n"
                        "A1,4,0,,20,Ann,2026-11-25T11:01:00Z\n"
                        "A1,,,,30.5,Ann,2026-11-25T11:02:00Z\n"
                        "A1,4,0,,40,Bo,2026-11-25T11:03:00Z\n"
                        "B1,5,0,,,Ann,2026-11-26T11:00:00Z\n"
                        "A2,3,0,,,Ann,2026-11-26T11:00:00Z\n");
  CHECK(got.faults.empty());
  REQUIRE(got.column.values.size() == 2);  // A2 was never measured
  CHECK(got.column.values[0].swatch == "A1");
  CHECK_THAT(got.column.values[0].value, WithinRel((30.5 + 40) / 2, 1e-15));
  CHECK(got.column.values[1].swatch == "B1");
  CHECK_THAT(got.column.values[1].value, WithinRel(10.0, 1e-15));  // a later grade without a reading keeps it
}

TEST_CASE("what was taken back, and what came later than asked for, is left out", "[grades][measured]") {
  const std::string text = kHead +
                           "A1,4,0,,20,Ann,2026-11-25T11:01:00Z\n"
                           "A1,,,taken back,,Ann,2026-11-25T11:02:00Z\n"
                           "A2,4,0,,7,Ann,2026-11-26T11:01:00Z\n";
  CHECK(read(text).column.values.size() == 1);
  CHECK(read(text).column.values[0].swatch == "A2");
  CHECK(read(text, "2026-11-25").column.values.empty());
}

TEST_CASE("a column as a spreadsheet in another locale saves it", "[grades][measured]") {
  const Read got =
      read("gloss;swatch;frost;chipping;note;grader;graded_at\n-0,25;a1;4;0;;Ann;2026-11-25T11:01:00Z\n");
  CHECK(got.faults.empty());
  REQUIRE(got.column.values.size() == 1);
  CHECK_THAT(got.column.values[0].value, WithinRel(-0.25, 1e-15));
}

TEST_CASE("faults of the column name their place", "[grades][measured]") {
  const Read got = read(kHead +
                        "A1,4,0,,dull,Ann,2026-11-25T11:01:00Z\n"
                        "A2,4,0,,inf,Ann,2026-11-25T11:01:00Z\n"
                        "C9,4,0,,1,Ann,2026-11-25T11:01:00Z\n");
  REQUIRE(got.faults.faults().size() == 3);
  CHECK(got.faults.faults()[0].place.line == 2);
  CHECK(got.faults.faults()[0].place.field == "gloss");
  CHECK(got.faults.faults()[1].found == "\"inf\"");
  CHECK(got.faults.faults()[2].place.field == "swatch");
  const Read none = read("swatch,frost,chipping,note,grader,graded_at\n");
  CHECK_FALSE(none.column.found);
  CHECK(none.column.header.size() == 6);
}
