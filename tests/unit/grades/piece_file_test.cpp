#include "grades/piece_file.hpp"

#include <catch2/catch.hpp>

#include "support/memory_file_system.hpp"
#include "support/sample_grid.hpp"

using namespace frostcal;
using namespace frostcal::grades;

TEST_CASE("pieces are written with their own setting and read back", "[grades][piece_file]") {
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  const shop::Shop shop = test::sample_shop("/shop");
  PieceRow piece;
  piece.glass = "amber-jug";
  piece.machine = "bench";
  piece.setting = {62.5, 40, 300, 100, "stucki", 1};
  piece.frost = 5;
  piece.chipping = 0;
  piece.note = "-dark spot";
  piece.by = "Ann";
  piece.logged_at = "2026-11-25T11:14:05Z";
  CHECK(read_pieces(shop, disk).empty());
  append_piece(shop, piece, disk);
  piece.frost.reset();
  append_piece(shop, piece, disk);
  CHECK(disk.contents("/shop/results/pieces.csv") ==
        "glass,machine,power_pct,speed_pct,dpi,tone_pct,screen,passes,frost,chipping,note,by,logged_at\n"
        "amber-jug,bench,62.50,40.00,300,100.00,stucki,1,5,0,'-dark spot,Ann,2026-11-25T11:14:05Z\n"
        "amber-jug,bench,62.50,40.00,300,100.00,stucki,1,,0,'-dark spot,Ann,2026-11-25T11:14:05Z\n");
  const std::vector<PieceRow> pieces = read_pieces(shop, disk);
  REQUIRE(pieces.size() == 2);
  CHECK(pieces[0].setting == piece.setting);
  CHECK(pieces[0].note == "-dark spot");
  CHECK(pieces[0].frost == 5);
  CHECK_FALSE(pieces[1].frost);
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
