// The files under spreadsheets/ hold the same tables in the forms that spreadsheets save.
#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>

#include "grades/grade_file.hpp"
#include "grades/piece_file.hpp"
#include "support/memory_file_system.hpp"
#include "support/sample_grid.hpp"

using namespace frostcal;
using namespace frostcal::grades;

namespace {

std::string file_text(const std::string& name) {
  std::ifstream file(std::string(FROSTCAL_SOURCE_DIR) + "/tests/unit/grades/spreadsheets/" + name,
                     std::ios::binary);
  REQUIRE(file);
  return std::string(std::istreambuf_iterator<char>(file), {});
}

std::string text_of(const std::vector<GradeRow>& rows) {
  std::string text;
  for (const GradeRow& row : rows) {
    text += row.swatch + '|' + (row.frost ? std::to_string(*row.frost) : "") + '|' +
            (row.chipping ? std::to_string(*row.chipping) : "") + '|' + row.note + '|' + row.grader + '|' +
            row.graded_at + '\n';
  }
  return text;
}

}  // namespace

TEST_CASE("grades survive a spreadsheet, and the file can be continued", "[grades][spreadsheet]") {
  const std::string name = GENERATE("grades_written.csv", "grades_saved_again.csv", "grades_quoted_text.csv",
                                    "grades_semicolon_crlf_bom.csv", "grades_columns_moved.csv");
  INFO(name);
  const std::string time = "|2026-11-25T11:14:05Z\n";
  const std::string expected = "A1|4|0||Ann" + time + "B2|3|1|dull, at the edge|Ann" + time +
                               "C3||2|=hmm|+Bo" + time + "D1|5|0|3/4 white|J\xC3\xB6rg" + time;
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  disk.put("/shop/results/0001-amber-jug.csv", file_text(name));
  const shop::Shop shop = test::sample_shop("/shop");
  const design::Grid grid = test::sample_grid();
  CHECK(text_of(read_grades(shop, grid, disk)) == expected);
  append_grades(shop, grid, {{"A2", 1, 3, "a;b, c\td", "@Cy", "2026-11-25T11:14:05Z", 0}}, disk);
  CHECK(text_of(read_grades(shop, grid, disk)) == expected + "A2|1|3|a;b, c\td|@Cy" + time);
}

TEST_CASE("pieces survive a spreadsheet", "[grades][spreadsheet]") {
  const std::string name = GENERATE("pieces_written.csv", "pieces_en_us.csv",
                                    "pieces_de_de_decimal_comma.csv", "pieces_semicolon.csv");
  INFO(name);
  errors::FaultList faults;
  const std::vector<PieceRow> rows = parse_pieces(file_text(name), name, faults);
  CHECK(faults.empty());
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].setting == shop::Setting{62.5, 40, 300, 100, "stucki", 1});
  CHECK(rows[1].setting == shop::Setting{7.05, 12.25, 254, 90, "stucki", 2});
  CHECK(rows[1].note == "-chip at rim");
  CHECK(rows[1].chipping == 1);
}
