#include "grades/logged_pieces.hpp"

#include <catch2/catch.hpp>

#include "support/memory_file_system.hpp"
#include "support/sample_grid.hpp"

using namespace frostcal;
using namespace frostcal::grades;

namespace {

PieceRow piece(const std::string& glass, const std::string& machine, const std::string& logged_at) {
  PieceRow row;
  row.glass = glass;
  row.machine = machine;
  row.setting = {62.5, 40, 300, 100, "stucki", 1};
  row.frost = 5;
  row.chipping = 0;
  row.by = "Ann";
  row.logged_at = logged_at;
  return row;
}

CuredFault fault(const std::string& cure, const std::string& since, const std::string& recorded_at) {
  return {"bench", cure, since, "Ann", recorded_at, 0};
}

}  // namespace

TEST_CASE("what was logged on the machine while it had a fault is set aside", "[grades][logged_pieces]") {
  const std::vector<PieceRow> pieces{
      piece("jug", "bench", "2026-11-02T23:59:59Z"), piece("jug", "bench", "2026-11-03T00:00:00Z"),
      piece("oil", "bench", "2026-11-04T09:00:00Z"), piece("jug", "barn", "2026-11-04T09:00:00Z"),
      piece("jug", "bench", "2026-11-05T09:00:00Z"), piece("jug", "bench", "2026-11-05T09:00:01Z")};
  const LoggedPieces logged =
      sort_pieces(pieces, {fault("lens cleaned", "2026-11-03T00:00:00Z", "2026-11-05T09:00:00Z")});
  CHECK(logged.all.size() == 6);
  REQUIRE(logged.counted.size() == 3);
  CHECK(logged.counted[0].logged_at == "2026-11-02T23:59:59Z");
  CHECK(logged.counted[1].machine == "barn");
  CHECK(logged.counted[2].logged_at == "2026-11-05T09:00:01Z");
  REQUIRE(logged.set_aside.size() == 2);
  CHECK(logged.set_aside[0].glass == "jug");
  CHECK(logged.set_aside[0].pieces.size() == 2);
  CHECK(logged.set_aside[1].glass == "oil");
  CHECK(count_set_aside(logged.set_aside, "jug", "bench") == 2);
  CHECK(count_set_aside(logged.set_aside, "jug", "barn") == 0);
  CHECK(set_aside_text(logged.set_aside, "jug", "bench") == "2 pieces set aside: lens cleaned on 2026-11-05");
  CHECK(set_aside_text(logged.set_aside, "jug", "barn").empty());
  CHECK(set_aside_text(logged.set_aside, "jug", "bench", "2026-11-06T00:00:00Z").empty());
}

TEST_CASE("a piece is set aside once, by the first fault that has it", "[grades][logged_pieces]") {
  const std::vector<PieceRow> pieces{piece("jug", "bench", "2026-11-02T09:00:00Z"),
                                     piece("jug", "bench", "2026-11-03T09:00:00Z"),
                                     piece("jug", "bench", "2026-11-04T09:00:00Z")};
  const LoggedPieces logged =
      sort_pieces(pieces, {fault("lens cleaned", "2026-11-03T00:00:00Z", "2026-11-03T12:00:00Z"),
                           fault("mirror fixed", "2026-11-02T00:00:00Z", "2026-11-05T00:00:00Z")});
  CHECK(logged.counted.empty());
  CHECK(set_aside_text(logged.set_aside, "jug", "bench") ==
        "1 piece set aside: lens cleaned on 2026-11-03; 2 pieces set aside: mirror fixed on 2026-11-05");
  // A fault whose span was widened the same day is one cause.
  const LoggedPieces widened =
      sort_pieces(pieces, {fault("lens cleaned", "2026-11-03T00:00:00Z", "2026-11-05T12:00:00Z"),
                           fault("lens cleaned", "2026-11-02T00:00:00Z", "2026-11-05T13:00:00Z")});
  CHECK(set_aside_text(widened.set_aside, "jug", "bench") ==
        "3 pieces set aside: lens cleaned on 2026-11-05");
}

TEST_CASE("as of a day, faults that were cured later are not known yet", "[grades][logged_pieces]") {
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  const shop::Shop shop = test::sample_shop("/shop");
  append_pieces(
      shop, {piece("jug", "bench", "2026-11-03T09:00:00Z"), piece("jug", "bench", "2026-11-06T09:00:00Z")},
      disk);
  append_cured(shop, fault("lens cleaned", "2026-11-03T00:00:00Z", "2026-11-05T09:00:00Z"), disk);
  CHECK(read_logged(shop, "2026-11-04", disk).counted.size() == 1);
  CHECK(read_logged(shop, "2026-11-04", disk).set_aside.empty());
  CHECK(read_logged(shop, "2026-11-05", disk).counted.empty());
  const LoggedPieces now = read_logged(shop, "", disk);
  REQUIRE(now.counted.size() == 1);
  CHECK(now.counted[0].logged_at == "2026-11-06T09:00:00Z");
}
