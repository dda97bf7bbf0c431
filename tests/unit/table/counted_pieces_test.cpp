#include "table/counted_pieces.hpp"

#include <catch2/catch.hpp>

#include "table/stale_check.hpp"
#include "unit/table/sample_row.hpp"

using namespace frostcal;
using namespace frostcal::table;

namespace {

std::vector<grades::PieceRow> pieces(int count, const std::string& day = "2026-11-20") {
  grades::PieceRow row;
  row.glass = "amber-jug";
  row.machine = "bench";
  row.logged_at = day + "T08:00:00Z";
  return std::vector<grades::PieceRow>(static_cast<std::size_t>(count), row);
}

HistoryRow settled(int count, int line) {
  HistoryRow row = test::sample_row();
  row.row.reason = settled_reason(count, "first \"try\"");
  row.line = line;
  return row;
}

HistoryRow stale(int rejects, int count) {
  StaleCheck check;
  check.pieces = count;
  check.rejects = rejects;
  return stale_row(test::sample_row().row, check, {"Bo", "", "2026-11-26T09:00:00Z", "0.1.0"});
}

}  // namespace

TEST_CASE("the last row's pieces are missed one by one, an earlier row's when all are gone", "[table]") {
  CHECK(settled(24, 2).row.reason == "settled with 24 pieces logged at it; before: first \"try\"");
  CHECK(settled_reason(1, "") == "settled with 1 piece logged at it");
  CHECK(lost_pieces({settled(24, 2)}, pieces(24)).empty());
  CHECK(lost_pieces({settled(24, 2)}, pieces(30)).empty());
  const std::vector<LostPieces> one = lost_pieces({test::sample_row(), settled(24, 3)}, pieces(23));
  REQUIRE(one.size() == 1);
  CHECK(one[0].row.line == 3);
  CHECK(one[0].counted == 24);
  CHECK(one[0].left == 23);
  // Judged anew since.
  CHECK(lost_pieces({settled(24, 2), test::sample_row()}, pieces(23)).empty());
  CHECK(lost_pieces({settled(24, 2), test::sample_row()}, pieces(1)).empty());
  REQUIRE(lost_pieces({settled(24, 2), test::sample_row()}, {}).size() == 1);
  // What was logged later, for another glass or on another machine is none of those.
  CHECK(lost_pieces({settled(24, 2)}, pieces(24, "2026-11-26"))[0].left == 0);
  HistoryRow elsewhere = settled(3, 4);
  elsewhere.row.machine = "barn";
  CHECK(lost_pieces({settled(24, 2), elsewhere}, pieces(24)).size() == 1);
  REQUIRE(lost_pieces({stale(6, 20)}, pieces(19)).size() == 1);
  CHECK(lost_pieces({stale(6, 20)}, pieces(19))[0].counted == 20);
  CHECK(lost_pieces({stale(6, 20)}, pieces(20)).empty());
}

TEST_CASE("a row whose reason only looks like it counts nothing", "[table]") {
  for (const char* reason : {"", "settled with Ann", "settled", "6 of 20 pieces rejected by the customer"}) {
    HistoryRow row = test::sample_row();
    row.row.reason = reason;
    CAPTURE(reason);
    CHECK(lost_pieces({row}, {}).empty());
    CHECK(lost_cures({row}, {}).empty());
  }
}

TEST_CASE("a cured fault that the last row's reason names is missed", "[table]") {
  HistoryRow row = test::sample_row();
  row.row.reason =
      "again; 8 pieces set aside: lens cleaned on 2026-11-05; 1 piece set aside: focus on 2026-11-06";
  const grades::CuredFault lens{"bench", "lens cleaned",         "2026-11-03T00:00:00Z",
                                "Ann",   "2026-11-05T11:14:05Z", 2};
  const grades::CuredFault focus{"bench", "focus", "2026-11-06T00:00:00Z", "Ann", "2026-11-06T11:14:05Z", 3};
  CHECK(lost_cures({row}, {lens, focus}).empty());
  CHECK(lost_cures({row}, {lens}).size() == 1);
  CHECK(lost_cures({row}, {}).size() == 1);
  grades::CuredFault other = focus;
  other.machine = "barn";
  CHECK(lost_cures({row}, {lens, other}).size() == 1);
  CHECK(lost_cures({row, test::sample_row()}, {}).empty());
  row.row.reason += "; 8 pieces set aside: lens cleaned on 2026-11-05";  // as version 0.1.0 once wrote it
  CHECK(lost_cures({row}, {lens, focus}).empty());
  CHECK(lost_cures({row}, {focus}).size() == 1);
}
