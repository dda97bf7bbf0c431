// The files under spreadsheets/ hold the same tables in the forms that spreadsheets save.
#include <catch2/catch.hpp>
#include <filesystem>

#include "grades/cured_file.hpp"
#include "grades/grade_file.hpp"
#include "grades/grade_import.hpp"
#include "grades/piece_file.hpp"
#include "support/exact_setting.hpp"
#include "support/file_text.hpp"
#include "support/memory_file_system.hpp"
#include "support/sample_grid.hpp"
#include "table/settings_history.hpp"

using namespace frostcal;
using namespace frostcal::grades;

namespace {

std::string file_text(const std::string& name) {
  return test::file_text("tests/unit/grades/spreadsheets/" + name);
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

// What LibreOffice wrote of one of the files under written/, with the locale and form in which it did.
struct Saved {
  std::string how;  // "de-DE-semicolon"
  std::string bytes;
};

std::vector<Saved> saved_by_libreoffice(const std::string& name) {
  namespace fs = std::filesystem;
  std::vector<Saved> files;
  const fs::path folder = fs::path(FROSTCAL_SOURCE_DIR) / "tests/unit/grades/spreadsheets/libreoffice";
  for (const fs::directory_entry& entry : fs::directory_iterator(folder)) {
    const std::string how = entry.path().filename().string();
    if (entry.is_directory()) files.push_back({how, file_text("libreoffice/" + how + '/' + name)});
  }
  REQUIRE(files.size() >= 24);  // three locales, eight forms
  return files;
}

bool is_utf16(const Saved& saved) {
  return saved.how.find("utf16") != std::string::npos;
}

std::vector<GradeRow> import(const std::string& bytes) {
  return parse_grade_import(bytes, "form.csv", test::sample_grid(), {"Ann", "2026-11-25T11:14:05Z"});
}

}  // namespace

TEST_CASE("a form that LibreOffice saved gives the same grades", "[grades][spreadsheet][libreoffice]") {
  const std::string written = file_text("written/form.csv");
  const std::string expected = text_of(import(written));
  REQUIRE(import(written).size() == 7);
  CHECK(expected.find("B1|1|1|0.125 \"mm\"|Ann") != std::string::npos);
  std::size_t different = 0;
  for (const Saved& saved : saved_by_libreoffice("form.csv")) {
    INFO(saved.how);
    CHECK(text_of(import(saved.bytes)) == expected);
    different += saved.bytes != written ? 1 : 0;
    CHECK(is_utf16(saved) == (saved.bytes.substr(0, 2) == "\xFF\xFE"));
  }
  CHECK(different >= 12);
}

TEST_CASE("a results file that LibreOffice saved is read and continued",
          "[grades][spreadsheet][libreoffice]") {
  const std::string written = file_text("written/grades.csv");
  const shop::Shop shop = test::sample_shop("/shop");
  const design::Grid grid = test::sample_grid();
  const GradeRow added{"A2", 1, 3, "a;b, c\td", "@Cy", "2026-11-25T11:14:05Z", 0};
  std::string expected;
  const auto on_disk = [&](const std::string& bytes) {
    test::MemoryFileSystem disk;
    disk.put("/shop/.lock", "");
    disk.put("/shop/results/0001-amber-jug.csv", bytes);
    return disk;
  };
  {
    test::MemoryFileSystem disk = on_disk(written);
    const std::vector<GradeRow> rows = read_grades(shop, grid, disk);
    REQUIRE(rows.size() == 7);
    test::MemoryFileSystem fresh;
    fresh.put("/shop/.lock", "");
    append_grades(shop, grid, rows, fresh);
    CHECK(fresh.contents("/shop/results/0001-amber-jug.csv") == written);  // it is what we write
    append_grades(shop, grid, {added}, disk);
    expected = text_of(read_grades(shop, grid, disk));
  }
  for (const Saved& saved : saved_by_libreoffice("grades.csv")) {
    INFO(saved.how);
    test::MemoryFileSystem disk = on_disk(saved.bytes);
    if (is_utf16(saved)) {
      CHECK_THROWS_WITH(read_grades(shop, grid, disk),
                        Catch::Matchers::Contains("save the file again as UTF-8"));
      CHECK_THROWS(append_grades(shop, grid, {added}, disk));
      CHECK(disk.contents("/shop/results/0001-amber-jug.csv") == saved.bytes);
      continue;
    }
    append_grades(shop, grid, {added}, disk);
    CHECK(text_of(read_grades(shop, grid, disk)) == expected);
  }
}

TEST_CASE("cured faults that LibreOffice saved are read as they were written",
          "[grades][spreadsheet][libreoffice][cured_file]") {
  const auto read = [](const std::string& bytes) {
    errors::FaultList faults;
    std::string text;
    for (const CuredFault& one : parse_cured(bytes, "cured-faults.csv", faults)) {
      text += one.machine + '|' + one.cure + '|' + one.since + '|' + one.by + '|' + one.recorded_at + '\n';
    }
    CHECK(faults.empty());
    return text;
  };
  const std::string expected = read(file_text("written/cured.csv"));
  CHECK(expected.find("bench|-2/3 turn; \"focus\", mirror 2|2026-11-10T09:30:00Z|@Bo|") != std::string::npos);
  for (const Saved& saved : saved_by_libreoffice("cured.csv")) {
    INFO(saved.how);
    if (!is_utf16(saved)) CHECK(read(saved.bytes) == expected);
  }
}

TEST_CASE("pieces that LibreOffice saved keep their numbers", "[grades][spreadsheet][libreoffice]") {
  bool decimal_comma = false;
  for (const Saved& saved : saved_by_libreoffice("pieces.csv")) {
    if (is_utf16(saved)) continue;
    INFO(saved.how);
    errors::FaultList faults;
    const std::vector<PieceRow> rows = parse_pieces(saved.bytes, "pieces.csv", faults);
    CHECK(faults.empty());
    REQUIRE(rows.size() == 3);
    CHECK(rows[2].frost == GradeRange(4, 5));
    CHECK(rows[2].chipping == GradeRange(0, 1));
    CHECK(shop::same_setting(rows[0].setting, shop::Setting{62.5, 40, 300, 100, "stucki", 1}));
    CHECK(shop::same_setting(rows[1].setting, shop::Setting{7.05, 12.25, 254, 90, "stucki", 2}));
    REQUIRE(rows[0].burn);
    CHECK(rows[0].burn->art_height_mm == 40.5);
    CHECK(rows[1].note == "-chip at rim");
    decimal_comma = decimal_comma || saved.bytes.find("7,05") != std::string::npos;
  }
  CHECK(decimal_comma);
}

// Every row carries a checksum of what it says and, from the fourth on, of the row above, so a number that
// came back changed would be refused, and so would rows in another order.
TEST_CASE("a settings history that LibreOffice saved is whole by its checksums",
          "[grades][spreadsheet][libreoffice]") {
  for (const Saved& saved : saved_by_libreoffice("history.csv")) {
    if (is_utf16(saved)) continue;
    INFO(saved.how);
    errors::FaultList faults;
    CHECK(table::parse_history(saved.bytes, "settings-history.csv", faults).size() == 5);
    CHECK(faults.empty());
  }
}

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
  CHECK(shop::same_setting(rows[0].setting, shop::Setting{62.5, 40, 300, 100, "stucki", 1}));
  CHECK(shop::same_setting(rows[1].setting, shop::Setting{7.05, 12.25, 254, 90, "stucki", 2}));
  CHECK(rows[1].note == "-chip at rim");
  CHECK(rows[1].chipping == 1);
}
