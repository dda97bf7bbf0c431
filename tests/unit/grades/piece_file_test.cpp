#include "grades/piece_file.hpp"

#include <catch2/catch.hpp>

#include "support/exact_setting.hpp"
#include "support/memory_file_system.hpp"
#include "support/sample_grid.hpp"

using namespace frostcal;
using namespace frostcal::grades;

namespace {

PieceRow jug_piece() {
  PieceRow piece;
  piece.glass = "amber-jug";
  piece.machine = "bench";
  piece.setting = {62.5, 40, 300, 100, "stucki", 1};
  return piece;
}

}  // namespace

TEST_CASE("pieces are written with their own setting and read back", "[grades][piece_file]") {
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  const shop::Shop shop = test::sample_shop("/shop");
  PieceRow piece = jug_piece();
  piece.frost = 5;
  piece.chipping = 0;
  piece.note = "-dark spot";
  piece.by = "Ann";
  piece.logged_at = "2026-11-25T11:14:05Z";
  CHECK(read_pieces(shop, disk).empty());
  append_pieces(shop, {piece}, disk);
  piece.frost.reset();
  piece.burn = TimedBurn{450, 60, 40.5};
  append_pieces(shop, {piece}, disk);
  CHECK(
      disk.contents("/shop/results/pieces.csv") ==
      "glass,machine,power_pct,speed_pct,dpi,tone_pct,screen,passes,frost,chipping,note,by,logged_at,burn_s,"
      "art_width_mm,art_height_mm,format\n"
      "amber-jug,bench,62.50,40.00,300,100.00,stucki,1,5,0,'-dark spot,Ann,2026-11-25T11:14:05Z,,,,2\n"
      "amber-jug,bench,62.50,40.00,300,100.00,stucki,1,,0,'-dark spot,Ann,2026-11-25T11:14:05Z,450.00,60.00,"
      "40.50,2\n");
  const std::vector<PieceRow> pieces = read_pieces(shop, disk);
  REQUIRE(pieces.size() == 2);
  CHECK(shop::same_setting(pieces[0].setting, piece.setting));
  CHECK(pieces[0].note == "-dark spot");
  CHECK(pieces[0].frost == 5);
  CHECK_FALSE(pieces[1].frost);
  CHECK_FALSE(pieces[0].burn);
  REQUIRE(pieces[1].burn);
  CHECK(pieces[1].burn->seconds == 450);
  CHECK(pieces[1].burn->art_width_mm == 60);
  CHECK(pieces[1].burn->art_height_mm == 40.5);
}

// The file as versions before timed burns wrote it.
TEST_CASE("an old pieces.csv is read and continued, and gets the new columns with the first timed burn",
          "[grades][piece_file]") {
  const std::string old_header =
      "glass,machine,power_pct,speed_pct,dpi,tone_pct,screen,passes,frost,chipping,note,by,logged_at";
  const std::string old_row =
      "amber-jug,bench,62.50,40.00,300,100.00,stucki,1,5,0,\"a, b\",Ann,2026-11-24T11:14:05Z";
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  disk.put("/shop/results/pieces.csv", old_header + '\n' + old_row + '\n');
  const shop::Shop shop = test::sample_shop("/shop");
  std::vector<PieceRow> pieces = read_pieces(shop, disk);
  REQUIRE(pieces.size() == 1);
  CHECK_FALSE(pieces[0].burn);
  PieceRow piece = pieces[0];
  append_pieces(shop, {piece}, disk);
  CHECK(disk.contents("/shop/results/pieces.csv") == old_header + '\n' + old_row + '\n' + old_row + '\n');
  piece.burn = TimedBurn{450, 60, 40};
  append_pieces(shop, {piece}, disk);
  CHECK(disk.contents("/shop/results/pieces.csv") == old_header + ",burn_s,art_width_mm,art_height_mm\n" +
                                                         old_row + ",,,\n" + old_row + ",,,\n" + old_row +
                                                         ",450.00,60.00,40.00\n");
  pieces = read_pieces(shop, disk);
  REQUIRE(pieces.size() == 3);
  CHECK_FALSE(pieces[1].burn);
  CHECK(pieces[2].burn);
}

TEST_CASE("a piece that is only called good keeps the bar that it reached", "[grades][piece_file]") {
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  const shop::Shop shop = test::sample_shop("/shop");
  PieceRow piece = jug_piece();
  piece.frost = GradeRange(4, 5);
  piece.chipping = GradeRange(0, 1);
  piece.by = "Ann";
  piece.logged_at = "2026-11-25T11:14:05Z";
  append_pieces(shop, {piece}, disk);
  CHECK(disk.contents("/shop/results/pieces.csv").find(",1,>=4,<=1,,Ann,") != std::string::npos);
  const std::vector<PieceRow> pieces = read_pieces(shop, disk);
  REQUIRE(pieces.size() == 1);
  CHECK(pieces[0].frost == GradeRange(4, 5));
  CHECK(pieces[0].chipping == GradeRange(0, 1));
}

TEST_CASE("ranges as people type them, and those that are none", "[grades][piece_file]") {
  const auto read = [](const std::string& frost, const std::string& chipping, std::string& faults) {
    errors::FaultList list;
    const std::vector<PieceRow> rows = parse_pieces(
        "glass,machine,power_pct,speed_pct,dpi,tone_pct,screen,passes,frost,chipping,note,by,logged_at\n"
        "a,b,62,40,300,100,stucki,1," +
            frost + ',' + chipping + ",,Ann,2026-11-24T11:14:05Z\n",
        "p.csv", list);
    faults.clear();
    for (const errors::Fault& fault : list.faults()) faults += to_text(fault) + '\n';
    return rows;
  };
  std::string faults;
  const std::vector<PieceRow> rows = read(">= 3", "<=0", faults);
  CHECK(faults.empty());
  REQUIRE(rows.size() == 1);
  CHECK(rows[0].frost == GradeRange(3, 5));
  CHECK(rows[0].chipping == 0);
  CHECK(read(">=6", ">=", faults).empty());
  CHECK(faults ==
        "p.csv:2:28: frost: found \"6\", expected a whole number from 0 to 5\n"
        "p.csv:2:32: chipping: found \">=\", expected a grade behind >=, such as >=4\n");
  CHECK(read("4+", "", faults).empty());
  CHECK(faults.find("p.csv:2:28: frost: found \"4+\", expected a whole number from 0 to 5") == 0);
}

TEST_CASE("a time without a size, or a size without a time, is a fault", "[grades][piece_file]") {
  errors::FaultList faults;
  parse_pieces(
      "glass,machine,power_pct,speed_pct,dpi,tone_pct,screen,passes,frost,chipping,note,by,logged_at,burn_s,"
      "art_width_mm,art_height_mm\n"
      "a,b,62,40,300,100,stucki,1,5,0,,Ann,2026-11-24T11:14:05Z,450,,40\n"
      "a,b,62,40,300,100,stucki,1,5,0,,Ann,2026-11-24T11:14:05Z,-3,60,40\n",
      "p.csv", faults);
  std::string all;
  for (const errors::Fault& fault : faults.faults()) all += to_text(fault) + '\n';
  CHECK(
      all ==
      "p.csv:2:58: burn_s: found only some of burn_s, art_width_mm and art_height_mm, expected all three, or "
      "none; a time says nothing without the size that was burned\n"
      "p.csv:3:58: burn_s: found \"-3\", expected a number from 0.01 to 86400\n");
}

TEST_CASE("every fault of pieces.csv is named", "[grades][piece_file]") {
  errors::FaultList faults;
  parse_pieces(
      "glass,machine,power_pct,speed_pct,dpi,tone_pct,screen,passes,frost,chipping,note,by,logged_at\n"
      ",bench,nan,-40,300.5,100,stucki,1,6,0,,Ann,now\n",
      "p.csv", faults);
  std::string all;
  for (const errors::Fault& fault : faults.faults()) all += to_text(fault) + '\n';
  CHECK(all ==
        "p.csv:2:1: glass: found an empty cell, expected a glass\n"
        "p.csv:2:8: power_pct: found \"nan\", expected a number from 0.01 to 100; write a finite number\n"
        "p.csv:2:12: speed_pct: found \"-40\", expected a number from 0.01 to 100\n"
        "p.csv:2:16: dpi: found \"300.5\", expected a whole number from 1 to 10000\n"
        "p.csv:2:35: frost: found \"6\", expected a whole number from 0 to 5\n"
        "p.csv:2:44: logged_at: found \"now\", expected a time such as 2026-11-25T11:14:05Z\n");
}

TEST_CASE("pieces of a newer format are refused as such", "[grades][piece_file]") {
  errors::FaultList faults;
  parse_pieces("glass,machine,power_w,logged_at,format\namber-jug,bench,36,2026-11-24T11:14:05Z,3\n", "p.csv",
               faults);
  REQUIRE(faults.faults().size() == 1);
  CHECK(to_text(faults.faults().front()) ==
        "p.csv:2:41: format: found format 3, expected format 2; a newer frostcal wrote this row; "
        "use that one");
}
