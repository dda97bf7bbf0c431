#include "choice/scrap_bottles.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <map>

#include "sheet/burn_page.hpp"
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

// What a shape of a burn page covers, with the neck on the left.
struct Burned {
  std::string what;
  double left, bottom, right, top;
};

std::vector<Burned> burned_on(const sheet::Page& page, shop::Side neck) {
  std::vector<Burned> shapes;
  for (const sheet::Element& element : page.elements()) {
    const auto& fill = std::get<sheet::Fill>(element);
    Burned shape{fill.mark, 1e9, 1e9, -1e9, -1e9};
    for (const sheet::Point& corner : fill.outline) {
      const bool turned = neck == shop::Side::right;
      const double x = turned ? page.width_mm() - corner.x_mm : corner.x_mm;
      const double y = turned ? page.height_mm() - corner.y_mm : corner.y_mm;
      shape.left = std::min(shape.left, x);
      shape.right = std::max(shape.right, x);
      shape.bottom = std::min(shape.bottom, y);
      shape.top = std::max(shape.top, y);
    }
    shapes.push_back(shape);
  }
  return shapes;
}

/// The template's shop with a second machine, "barn", that holds the neck on the other side.
shop::Shop with_turned_machine() {
  shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  shop::Machine turned = shop.machines[0];
  turned.name = "barn";
  turned.rotary.neck = turned.rotary.neck == shop::Side::left ? shop::Side::right : shop::Side::left;
  shop.machines.push_back(turned);
  return shop;
}

}  // namespace

TEST_CASE("nothing is burned over what earlier grids burned on a bottle, ids and marks included",
          "[choice][shelf]") {
  shop::Shop shop = with_turned_machine();
  shop::Vessel& vessel = shop.vessels[0];
  vessel.panel_mm = 80;
  vessel.diameter_at_neck_mm = 60;
  vessel.seams = 4;
  const shop::Glass& glass = shop.glasses[0];
  for (const double base_mm : {60.0, 78.0}) {
    vessel.diameter_at_base_mm = base_mm;
    surface::ShopEvidence evidence;
    std::map<std::string, std::vector<Burned>> borne;
    int shared = 0;
    for (int number = 1; number <= 10; ++number) {
      const shop::Machine& machine = shop.machines[number % 3 == 0 ? 1 : 0];
      design::PlacementOptions placement;
      placement.swatch_mm = number % 2 == 0 ? 5 : 8;
      placement.seed = static_cast<std::uint64_t>(number);
      std::vector<design::PlannedSwatch> planned(10);
      for (std::size_t i = 0; i < planned.size(); ++i)
        planned[i].setting = {30.0 + 2 * static_cast<double>(i), 40, machine.dpi[0], 100, "stucki", 1};
      const auto bottles =
          choice::pick_bottles(shop, evidence, {glass.name, 1, false}, machine, vessel, 10, placement);
      design::Grid grid;
      grid.id = "grid";
      grid.number = number;
      grid.glass = glass.name;
      grid.machine = machine.name;
      grid.vessel = vessel.name;
      grid.swatches = design::place_swatches(planned, bottles, machine, vessel, placement);
      sheet::SheetOptions options;
      for (const surface::GradedGrid& earlier : evidence.grids) options.earlier.push_back(earlier.grid);
      for (const sheet::BurnSheet& sheet : sheet::burn_sheets(shop, grid, options)) {
        std::vector<Burned>& before = borne[sheet.plan.bottle];
        const std::vector<Burned> now = burned_on(sheet.page, machine.rotary.neck);
        for (const Burned& one : now) {
          for (const Burned& old : before) {
            ++shared;
            const double apart = std::max(
                {one.left - old.right, old.left - one.right, one.bottom - old.top, old.bottom - one.top});
            INFO(one.what << " of grid " << number << " beside " << old.what << " on " << sheet.plan.bottle);
            if (apart < 0.19) CHECK(apart >= 0.19);  // the centre's tick keeps 0.2 mm, all else more
          }
        }
        before.insert(before.end(), now.begin(), now.end());
      }
      evidence.grids.push_back({grid, {}});
    }
    CHECK(shared > 10000);
  }
}

TEST_CASE("a shelved bottle is taken where it was burned, also on a machine that holds the neck otherwise",
          "[choice][shelf]") {
  shop::Shop shop = with_turned_machine();
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
