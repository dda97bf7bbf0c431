#include "design/grid_file.hpp"

#include <catch2/catch.hpp>
#include <fstream>

#include "errors/user_error.hpp"
#include "shop/shop_file.hpp"
#include "support/exact_setting.hpp"
#include "support/temporary_folder.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using namespace frostcal::design;

namespace {

Grid small_grid() {
  Grid grid;
  grid.id = "0007-amber-jug";
  grid.number = 7;
  grid.glass = "amber-jug";
  grid.machine = "bench";
  grid.vessel = "tall-jug";
  grid.design = "spread";
  grid.seed = 42;
  grid.tool_version = "0.1.0";
  grid.planned_at = "2026-11-25T11:14:05Z";
  grid.swatches.push_back(
      {"A1", "amber-jug-1", 1, -12, 6, 8, 8, {60, 40, 300, 100, "stucki", 1}, Role::design});
  grid.swatches.push_back(
      {"A2", "amber-jug-1", 2, 0, 6, 8, 8, {12.5, 7.5, 500, 60, "stucki", 2}, Role::repeat});
  return grid;
}

shop::Shop shop_in(const std::filesystem::path& folder) {
  shop::Shop shop = shop::parse_shop(shop::shop_template(), "shop.toml");
  shop.folder = folder;
  std::filesystem::create_directories(folder / "grids");
  return shop;
}

std::string message(const shop::Shop& shop) {
  try {
    read_grid(shop, "0007-amber-jug");
  } catch (const errors::UserError& error) {
    return error.what();
  }
  return "no error";
}

}  // namespace

TEST_CASE("a grid comes back as it was written", "[design]") {
  const test::TemporaryFolder folder;
  const shop::Shop shop = shop_in(folder.path());
  write_grid(shop, small_grid());
  const Grid back = read_grid(shop, "0007-amber-jug");
  CHECK(swatches_csv_text(back) == swatches_csv_text(small_grid()));
  CHECK(back.seed == 42);
  CHECK(shop::same_setting(back.swatches[1].setting, small_grid().swatches[1].setting));
  CHECK(back.swatches[1].role == Role::repeat);
  CHECK(back.burns() == 2);
  CHECK(back.recipes() == 2);
  CHECK(grid_ids(shop) == std::vector<std::string>{"0007-amber-jug"});
  CHECK(resolve_grid_id(shop, "7") == "0007-amber-jug");
  CHECK_THROWS_AS(write_grid(shop, small_grid()), errors::UserError);
}

TEST_CASE("a grid keeps what it was planned for, and tells what shop.toml has changed since", "[design]") {
  const test::TemporaryFolder folder;
  shop::Shop shop = shop_in(folder.path());
  Grid grid = small_grid();
  CHECK(changes_since(grid, shop).empty());  // of format 1
  grid.planned_for = planned_for(shop.machines[0], shop.vessels[0]);
  grid.vessel = shop.vessels[0].name;
  write_grid(shop, grid);
  const Grid back = read_grid(shop, "0007-amber-jug");
  REQUIRE(back.planned_for);
  CHECK(back.planned_for->full_power_w == 60);
  CHECK(back.planned_for->neck == shop.machines[0].rotary.neck);
  CHECK(neck_side(back, shop.machines[0]) == shop.machines[0].rotary.neck);
  grid.planned_for->neck = shop::Side::right;
  CHECK(parse_grid_toml(grid_toml_text(grid, ""), "grid.toml", grid.id).grid.planned_for->neck ==
        shop::Side::right);
  grid.planned_for->neck.reset();  // format 2
  CHECK_FALSE(parse_grid_toml(grid_toml_text(grid, ""), "grid.toml", grid.id).grid.planned_for->neck);
  CHECK(changes_since(back, shop).empty());
  shop.machines[0].measured_power_w = {{50, 27.5}, {100, 54}};
  shop.machines[0].top_speed_mm_s = 1000;
  shop.vessels[0].diameter_at_neck_mm += 4;
  const std::vector<ChangedFigure> changes = changes_since(back, shop);
  REQUIRE(changes.size() == 3);
  CHECK(changes[0].of == "bench");
  CHECK(changes[0].text == "full power 60 W, now 54 W");
  CHECK(changes[1].text == "top speed 1200 mm/s, now 1000 mm/s");
  CHECK(changes[2].of == shop.vessels[0].name);
  CHECK(changes[2].text.find("diameter at the panel's centre") == 0);
  shop::Machine other = shop.machines[0];
  other.name = "other";
  shop.machines.push_back(other);
  Grid moved = back;
  moved.machine = "other";  // burned there: the figures are not its own
  CHECK(changes_since(moved, shop).empty());
  shop.machines.erase(shop.machines.begin());
  CHECK(changes_since(back, shop).empty());
}

TEST_CASE("line ends of another system don't count as a change of a grid's swatches", "[design]") {
  const test::TemporaryFolder folder;
  const shop::Shop shop = shop_in(folder.path());
  write_grid(shop, small_grid());
  const GridFiles files = grid_files(shop, "0007-amber-jug");
  std::string text = test::read_text(files.swatches_csv);
  for (std::size_t at = 0; (at = text.find('\n', at)) != std::string::npos; at += 2) text.insert(at, 1, '\r');
  test::write_text(files.swatches_csv, text);
  CHECK(read_grid(shop, "0007-amber-jug").swatches.size() == 2);
  text[text.find("60.00")] = '7';
  test::write_text(files.swatches_csv, text);
  CHECK_THAT(message(shop), Catch::Matchers::Contains("changed since it was planned"));
}

TEST_CASE("each fault of a grid's folder is told", "[design]") {
  const test::TemporaryFolder folder;
  const shop::Shop shop = shop_in(folder.path());
  write_grid(shop, small_grid());
  const GridFiles files = grid_files(shop, "0007-amber-jug");
  const std::string planned = test::read_text(files.swatches_csv);
  using Catch::Matchers::Contains;

  std::string edited = planned;
  edited.replace(edited.find("repeat"), 6, "repea");
  std::ofstream(files.swatches_csv) << edited;
  CHECK_THAT(message(shop), Contains("swatches.csv:3") && Contains("design, repeat, confirm or reference"));
  edited = planned;
  edited.replace(edited.find("60.00"), 5, "61.00");
  std::ofstream(files.swatches_csv) << edited;
  CHECK_THAT(message(shop), Contains("changed since it was planned"));
  edited.replace(edited.find("61.00"), 5, "nan");
  std::ofstream(files.swatches_csv) << edited;
  CHECK_THAT(message(shop), Contains("power_pct"));
  std::filesystem::remove(files.swatches_csv);
  CHECK_THAT(message(shop), Contains("no swatches.csv"));
  std::filesystem::remove(files.grid_toml);
  CHECK_THAT(message(shop), Contains("no grid.toml") && Contains("plan again"));
  try {
    resolve_grid_id(shop, "0007-amber-jgu");
    FAIL("nothing thrown");
  } catch (const errors::UserError& error) {
    CHECK_THAT(error.what(), Contains("did you mean 0007-amber-jug?"));
  }
}

TEST_CASE("the number of a grid whose grades are there is not given again", "[design]") {
  const test::TemporaryFolder folder;
  const shop::Shop shop = shop_in(folder.path());
  CHECK(next_number(shop) == 1);
  write_grid(shop, small_grid());
  CHECK(next_number(shop) == 8);
  test::write_text(grades_file(shop, "0007-amber-jug"), "");
  std::filesystem::remove_all(grid_files(shop, "0007-amber-jug").folder);
  CHECK(grid_ids(shop).empty());
  CHECK(graded_ids(shop) == std::vector<std::string>{"0007-amber-jug"});
  CHECK(next_number(shop) == 8);
  test::write_text(folder.path() / "results" / "12345-flask.csv", "");
  CHECK(next_number(shop) == 12346);
}

TEST_CASE("grades of a lost grid are not offered to its successor", "[design]") {
  const test::TemporaryFolder folder;
  const shop::Shop shop = shop_in(folder.path());
  write_grid(shop, small_grid());
  std::filesystem::remove(grid_files(shop, "0007-amber-jug").swatches_csv);
  using Catch::Matchers::Contains;
  CHECK_THAT(message(shop), Contains("remove the folder"));
  test::write_text(grades_file(shop, "0007-amber-jug"), "");
  CHECK_THAT(message(shop),
             Contains("results/0007-amber-jug.csv, out of the shop") && !Contains("remove the folder"));
}

TEST_CASE("a grid's folder is there whole or not at all", "[design]") {
  const test::TemporaryFolder folder;
  const shop::Shop shop = shop_in(folder.path());
  const std::filesystem::path left = folder.path() / "grids" / ".0007-amber-jug.tmp";
  test::write_text(left / "swatches.csv", "of a killed run");
  CHECK(grid_ids(shop).empty());
  REQUIRE(write_grid(shop, small_grid(), {}, {{"burn.pdf", "%PDF"}}));
  CHECK(test::read_text(grid_files(shop, "0007-amber-jug").burn_pdf) == "%PDF");
  CHECK(test::read_text(grid_files(shop, "0007-amber-jug").swatches_csv) == swatches_csv_text(small_grid()));
  CHECK_FALSE(std::filesystem::exists(left));
  // Planned beside another terminal's grid, of the same number and for the same places.
  Grid beside = small_grid();
  beside.id = "0007-oil-flask";
  CHECK_FALSE(write_grid(shop, beside, {}, {}));
  CHECK(grid_ids(shop) == std::vector<std::string>{"0007-amber-jug"});
  CHECK(write_grid(shop, beside, {"0007-amber-jug"}, {}));
}

TEST_CASE("a number of two grids is asked about", "[design]") {
  const test::TemporaryFolder folder;
  const shop::Shop shop = shop_in(folder.path());
  write_grid(shop, small_grid());
  Grid other = small_grid();
  other.id = "0007-oil-flask";
  write_grid(shop, other);
  using Catch::Matchers::Contains;
  CHECK_THROWS_WITH(resolve_grid_id(shop, "7"),
                    Contains("2 grids of number 7") && Contains("0007-amber-jug, 0007-oil-flask"));
  CHECK(resolve_grid_id(shop, "0007-oil-flask") == "0007-oil-flask");
}
