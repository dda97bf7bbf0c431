// The demo shop in grids/ and results/.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <string>

#include "design/grid_file.hpp"
#include "grades/grade_file.hpp"
#include "shop/shop_file.hpp"
#include "support/program.hpp"

using namespace frostcal;

TEST_CASE("the demo shop reads, and every grade in it says that it is simulated", "[demo]") {
  const shop::Shop shop = shop::read_shop(FROSTCAL_SOURCE_DIR);
  CHECK(shop.glasses.size() >= 3);
  int graded = 0;
  int waiting = 0;
  for (const std::string& id : design::grid_ids(shop)) {
    const auto rows = grades::read_grades(shop, design::read_grid(shop, id));
    for (const grades::GradeRow& row : rows) CHECK(row.note == "simulated");
    (rows.empty() ? waiting : graded) += 1;
  }
  CHECK(graded >= 3);
  CHECK(waiting == 1);  // scripts/demo grades the newest one
}

TEST_CASE("the demo shop has no fault, and settings in force", "[demo]") {
  const test::Outcome check = test::run_program({"check", "--shop", FROSTCAL_SOURCE_DIR});
  INFO(check.out << check.err);
  CHECK(check.status == 0);
  const test::Outcome table = test::run_program({"table", "show", "--shop", FROSTCAL_SOURCE_DIR});
  CHECK(table.status == 0);
  for (const char* glass : {"olive-oil-green", "amber-jug", "clear-cruet"}) {
    CHECK_THAT(table.out, Catch::Matchers::Contains(glass));
  }
}
