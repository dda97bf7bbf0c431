#include "table/restoration.hpp"

#include <catch2/catch.hpp>

#include "table/settings_table.hpp"
#include "unit/table/sample_row.hpp"

using namespace frostcal;
using namespace frostcal::table;

namespace {
const ChangeNote kNote{"Bo", "too dark", "2026-12-01T08:00:00Z", "0.1.0"};
}

TEST_CASE("restore goes back to the last other setting, and can itself be undone", "[table]") {
  std::vector<HistoryRow> history{test::sample_row(50), test::sample_row(60), test::sample_row(60)};
  HistoryRow other_glass = test::sample_row(99);
  other_glass.row.glass = "clear-cruet";
  history.push_back(other_glass);

  const auto back = row_to_restore(history, "amber-jug", "bench");
  REQUIRE(back);
  CHECK(*back == 1);
  history.push_back(restored_row(history, *back, kNote));
  CHECK(history.back().row.setting.power_pct == 50);
  CHECK(history.back().row.reason == "row 1 again: too dark");
  CHECK(history.back().row.adopted_by == "Bo");
  CHECK(history.back().row.chance == history[0].row.chance);

  const auto again = row_to_restore(history, "amber-jug", "bench");
  REQUIRE(again);
  CHECK(*again == 3);
}

TEST_CASE("nothing to go back to: one setting, or another glass", "[table]") {
  const std::vector<HistoryRow> history{test::sample_row(50), test::sample_row(50)};
  CHECK_FALSE(row_to_restore(history, "amber-jug", "bench"));
  CHECK_FALSE(row_to_restore(history, "amber-jug", "barn"));
  CHECK_FALSE(row_to_restore({}, "amber-jug", "bench"));
}

TEST_CASE("a withdrawal is undone by restore", "[table]") {
  std::vector<HistoryRow> history{test::sample_row(50)};
  history.push_back(withdrawn_row(history.back().row, kNote));
  CHECK_FALSE(in_force(history, "amber-jug", "bench"));
  const auto back = row_to_restore(history, "amber-jug", "bench");
  REQUIRE(back);
  CHECK(*back == 1);
  history.push_back(restored_row(history, *back, kNote));
  CHECK(in_force(history, "amber-jug", "bench")->setting.power_pct == 50);
}

TEST_CASE("restoring does not wash off that a setting was found stale; adopting it anew does", "[table]") {
  std::vector<HistoryRow> history{test::sample_row(50)};
  HistoryRow found = test::sample_row(50);
  found.action = Action::stale;
  found.row.status = Status::stale;
  history.push_back(found);
  history.push_back(test::sample_row(60));

  const auto back = row_to_restore(history, "amber-jug", "bench");
  REQUIRE(back);
  CHECK(*back == 2);
  CHECK(restored_row(history, 2, kNote).row.status == Status::stale);
  const HistoryRow first = restored_row(history, 1, kNote);
  CHECK(first.row.status == Status::stale);
  CHECK(first.row.reason == "row 1 again (found stale since): too dark");
  CHECK(restored_row(history, 3, kNote).row.status == Status::settled);

  HistoryRow elsewhere = test::sample_row(50);
  elsewhere.row.machine = "barn";
  history.push_back(elsewhere);
  CHECK(restored_row(history, 1, kNote).row.status == Status::stale);
  history.push_back(test::sample_row(50));
  CHECK(restored_row(history, 1, kNote).row.status == Status::settled);
}
