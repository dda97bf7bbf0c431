#include "table/table_text.hpp"

#include <catch2/catch.hpp>

#include "shop/shop_file.hpp"

using namespace frostcal;
using namespace frostcal::table;
using Catch::Matchers::Contains;

TEST_CASE("a provisional row says what it lacks, or that it lacks nothing now", "[table]") {
  const shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  ShownRow shown;
  SettingsRow& row = shown.row;
  row.glass = "amber-jug";
  row.machine = "bench";
  row.setting = {40, 30, 300, 100, "stucki", 1};
  row.chance = 0.93;
  row.chance_low = 0.85;
  row.chance_high = 0.99;
  row.swatches = 30;
  row.bottles = 1;
  row.adopted_at = "2026-11-25T11:14:05Z";
  CHECK_THAT(table_text({shown}, shop), Contains("provisional: 1 of 2 bottles"));
  CHECK_THAT(table_json({shown}, shop.acceptance), Contains("\"lacks\":[\"1 of 2 bottles"));
  row.bottles = 2;  // as after a target that was lowered: nobody adopted it against anything
  CHECK_THAT(table_text({shown}, shop),
             Contains("lacks nothing now") && Contains("--in-force") && !Contains("against the evidence"));
  row.reason = "needed for the fair";
  CHECK_THAT(table_text({shown}, shop), Contains("provisional: adopted against the evidence"));
}
