#include "choice/scrap_bottles.hpp"

#include <catch2/catch.hpp>

#include "shop/shop_file.hpp"

using namespace frostcal;

TEST_CASE("a shelved bottle is taken where it was burned, also on a machine that holds the neck otherwise",
          "[choice][shelf]") {
  shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  shop::Machine turned = shop.machines[0];
  turned.name = "barn";
  turned.rotary.neck = turned.rotary.neck == shop::Side::left ? shop::Side::right : shop::Side::left;
  shop.machines.push_back(turned);
  const shop::Glass& glass = shop.glasses[0];
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
    grid.swatches = {swatch};
    evidence.grids.push_back({grid, {}});
  }
  const shop::Vessel& vessel = shop.vessel(glass.vessel);
  for (const shop::Machine& machine : shop.machines) {
    const auto bottles = choice::pick_bottles(shop, evidence, {glass.name, 1, false}, machine, vessel, 6, {});
    REQUIRE(bottles.size() == 1);
    REQUIRE(bottles[0].taken.size() == 1);
    CHECK(bottles[0].taken[0].x_mm == 4);
    CHECK(bottles[0].taken[0].y_mm == (machine.name == "barn" ? -12 : 12));
  }
}
