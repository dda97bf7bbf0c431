#include "surface/glass_change.hpp"

#include <catch2/catch.hpp>

#include "support/peaked_glass.hpp"
#include "surface/shop_surface.hpp"

using namespace frostcal;
using namespace frostcal::surface;

namespace {

Observation swatch_at(const PhysicalSetting& setting, const std::string& grid, const std::string& bottle,
                      int number) {
  Observation o;
  o.glass = "jug@bench";
  o.bottle = bottle;
  o.burn = grid + "/1";
  o.grader = "Wen";
  o.day = "2026-0" + grid.substr(3, 1) + "-01";
  o.swatch = grid + " A" + std::to_string(number);
  o.setting = setting;
  return o;
}

/// Three grids of twelve, each on a bottle of its own.
std::vector<Observation> earlier_grids() {
  numerics::RandomEngine random(11);
  std::vector<Observation> all;
  for (int i = 0; i < 36; ++i) {
    const std::string grid = "000" + std::to_string(1 + i / 12) + "-jug";
    const PhysicalSetting setting = test::peaked_setting(random, i);
    Observation o = swatch_at(setting, grid, "jug-" + std::to_string(1 + i / 12), i);
    test::grade_as_peaked(o, setting, random);
    all.push_back(o);
  }
  return all;
}

std::optional<BrokenPromise> broken(const std::vector<Observation>& all) {
  FitOptions options;
  options.centre = test::kPeakedCentre;
  return broken_promise(fit_shop(all, options).glass("jug@bench"), all);
}

/// Two swatches on each of two bottles at the best setting; on the first `failing` bottles they chip.
std::vector<Observation> with_newest(int failing, const std::string& first, const std::string& second) {
  std::vector<Observation> all = earlier_grids();
  for (int i = 0; i < 4; ++i) {
    Observation o = swatch_at(test::kPeakedBest, i < 2 ? first : second, i < 2 ? "jug-4" : "jug-5", i);
    o.frost = 5;
    o.chipping = i / 2 < failing ? 3 : 0;
    all.push_back(o);
  }
  return all;
}

}  // namespace

TEST_CASE("a high chance that failed on all bottles of the newest grid is told", "[surface][change]") {
  CHECK_FALSE(broken(earlier_grids()));
  CHECK_FALSE(broken(with_newest(0, "0004-jug", "0004-jug")));
  const auto both = broken(with_newest(2, "0004-jug", "0004-jug"));
  REQUIRE(both);
  CHECK(both->promised > kHighChance);
  CHECK(both->probability < kBroken);
  CHECK(both->bottles == std::vector<std::string>{"jug-4", "jug-5"});
  CHECK(both->swatches ==
        std::vector<std::string>{"0004-jug A0", "0004-jug A1", "0004-jug A2", "0004-jug A3"});
}

TEST_CASE("a bottle that failed beside one that didn't is less surprising", "[surface][change]") {
  const auto one = broken(with_newest(1, "0004-jug", "0004-jug"));
  const auto both = broken(with_newest(2, "0004-jug", "0004-jug"));
  REQUIRE(both);
  REQUIRE(one);
  CHECK(one->bottles == std::vector<std::string>{"jug-4"});
  CHECK(one->probability > 2 * both->probability);
}

TEST_CASE("grids of one day are judged together by those before", "[surface][change]") {
  std::vector<Observation> all = with_newest(2, "0004-jug", "0005-jug");
  for (Observation& o : all) {
    if (o.day == "2026-05-01") o.day = "2026-04-01";
  }
  const auto together = broken(all);
  REQUIRE(together);
  CHECK(together->bottles == std::vector<std::string>{"jug-4", "jug-5"});
}

TEST_CASE("few earlier swatches promise nothing that can be broken", "[surface][change]") {
  std::vector<Observation> all = with_newest(2, "0004-jug", "0004-jug");
  all.erase(all.begin(), all.begin() + 25);
  CHECK_FALSE(broken(all));
}
