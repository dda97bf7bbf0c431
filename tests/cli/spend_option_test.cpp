#include "cli/spend_option.hpp"

#include <catch2/catch.hpp>

#include "cli/command.hpp"

using namespace frostcal::cli;
using Catch::Matchers::Contains;

TEST_CASE("spend: takes minutes, swatches and bottles, in any order", "[cli]") {
  CHECK_FALSE(read_spending("").any());
  CHECK(read_spending("20").seconds == 1200);
  CHECK(read_spending("2.5min").seconds == 150);
  CHECK(read_spending("18swatches").swatches == 18);
  CHECK(read_spending("18swatches").seconds == 0);
  CHECK(read_spending("1 bottle").bottles == 1);
  CHECK(read_spending("20MIN").seconds == 1200);
  CHECK(read_spending("1h").seconds == 3600);
  CHECK(read_spending("1h30min,18 Swatches").seconds == 5400);
  CHECK(read_spending("90s").seconds == 90);
  const auto all = read_spending("2bottles,20 minutes,1swatch");
  CHECK(all.seconds == 1200);
  CHECK(all.swatches == 1);
  CHECK(all.bottles == 2);
}

TEST_CASE("spend: refuses what it can't mean", "[cli]") {
  for (const char* text :
       {"min", "20h", "0min", "-3min", "1.5bottles", "20min,30min", "20min,", ",1bottle", "1e3swatches",
        "501swatches", "51bottles", "601min", "1,5min", "2bottles,3bottles"}) {
    CAPTURE(text);
    CHECK_THROWS_AS(read_spending(text), UsageError);
  }
  CHECK_THROWS_WITH(read_spending("20h"), Contains("\"20h\"") && Contains("18swatches"));
}
