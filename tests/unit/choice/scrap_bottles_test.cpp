#include "choice/scrap_bottles.hpp"

#include <catch2/catch.hpp>

#include "shop/shop_file.hpp"

using namespace frostcal;

namespace {

// As many bottles of the glass as are wanted, a grid on each: the first with one swatch, the second with two.
surface::ShopEvidence bottles_wanted(const shop::Shop& shop, const shop::Glass& glass) {
  surface::ShopEvidence evidence;
  for (int number = 1; number <= choice::kBottlesWanted; ++number) {
    design::Grid grid;
    grid.number = number;
    grid.glass = glass.name;
    grid.machine = shop.machines[0].name;
    grid.vessel = glass.vessel;
    design::Swatch swatch;
    swatch.bottle = glass.name + "-" + std::to_string(number);
    swatch.x_mm = 4;
    swatch.y_mm = 12;
    swatch.width_mm = swatch.height_mm = 8;
    grid.swatches.assign(static_cast<std::size_t>(number), swatch);
    evidence.grids.push_back({grid, {}});
  }
  return evidence;
}

}  // namespace

TEST_CASE("a shelved bottle is taken where it was burned, also on a machine that holds the neck otherwise",
          "[choice][shelf]") {
  shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  shop::Machine turned = shop.machines[0];
  turned.name = "barn";
  turned.rotary.neck = turned.rotary.neck == shop::Side::left ? shop::Side::right : shop::Side::left;
  shop.machines.push_back(turned);
  const shop::Glass& glass = shop.glasses[0];
  const surface::ShopEvidence evidence = bottles_wanted(shop, glass);
  const shop::Vessel& vessel = shop.vessel(glass.vessel);
  for (const shop::Machine& machine : shop.machines) {
    const auto bottles = choice::pick_bottles(shop, evidence, {glass.name, 1, false}, machine, vessel, 6, {});
    REQUIRE(bottles.size() == 1);
    REQUIRE(bottles[0].taken.size() == 1);
    CHECK(bottles[0].taken[0].x_mm == 4);
    CHECK(bottles[0].taken[0].y_mm == (machine.name == "barn" ? -12 : 12));
  }
}

TEST_CASE("a bottle that broke is not asked for, and its name not given again", "[choice][shelf]") {
  shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  shop::Glass& glass = shop.glasses[0];
  const surface::ShopEvidence evidence = bottles_wanted(shop, glass);
  const auto picked = [&](int bottles) {
    std::vector<std::string> names;
    for (const design::ScrapBottle& bottle :
         choice::pick_bottles(shop, evidence, {glass.name, bottles, false}, shop.machines[0],
                              shop.vessel(glass.vessel), 6, {})) {
      names.push_back(bottle.name);
    }
    return names;
  };
  CHECK(picked(1) == std::vector<std::string>{"amber-jug-1"});
  glass.broken = {"amber-jug-1", "amber-jug-4"};  // the fourth is of a grid that is gone
  CHECK(picked(1) == std::vector<std::string>{"amber-jug-2"});
  CHECK(picked(3) == std::vector<std::string>{"amber-jug-2", "amber-jug-3", "amber-jug-5"});
}
