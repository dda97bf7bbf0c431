#include "choice/compare_designs.hpp"

#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <sstream>

#include "design/design_by_name.hpp"
#include "errors/user_error.hpp"
#include "recovery/simulated_shop.hpp"
#include "report/design_table.hpp"
#include "shop/shop_file.hpp"
#include "support/temporary_folder.hpp"
#include "surface/physical_setting.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;

namespace {

struct EmptyShop {
  EmptyShop() {
    std::filesystem::create_directory(folder.path() / "grids");
    shop = shop::parse_shop(shop::shop_template(), "shop.toml");
    shop.folder = folder.path();
    surfaces = surface::fit_shop({}, surface::shop_fit_options(shop));
    request.glass = shop.glasses.front().name;
  }
  choice::DesignComparison compared() const {
    return choice::compare_designs(shop, evidence, surfaces, request, "2026-11-25T11:14:05Z");
  }
  choice::PlannedGrid planned(const std::string& design) {
    request.design = design;
    return choice::plan_grid(shop, evidence, surfaces, request, "2026-11-25T11:14:05Z");
  }

  test::TemporaryFolder folder;
  shop::Shop shop;
  surface::ShopEvidence evidence;
  surface::ShopSurface surfaces;
  choice::GridRequest request;
};

void check_width(const std::string& text) {
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    CAPTURE(line);
    CHECK(line.size() <= 100);
  }
}

}  // namespace

TEST_CASE("every opening design is planned and compared without writing", "[choice][design]") {
  EmptyShop empty;
  const choice::DesignComparison comparison = empty.compared();
  CHECK(comparison.impossible.empty());
  REQUIRE(comparison.designs.size() == design::opening_designs().size());
  for (const auto& line : comparison.designs) {
    CAPTURE(line.design);
    CHECK(line.swatches > 0);
    CHECK(line.evaluation.estimable == (line.design != "lattice"));  // which stays at one dpi
  }
  CHECK(std::filesystem::is_empty(empty.folder.path() / "grids"));
  const std::string text = report::design_table_text(comparison);
  CHECK_THAT(text, Contains("split-plot") && Contains("dpi at one value only") && !Contains("Doubt"));
  check_width(text);
  const auto json = nlohmann::json::parse(report::design_table_json(comparison));
  CHECK(json["designs"].size() == comparison.designs.size());
  CHECK(json["designs"][0]["power"].is_number());
  CHECK(json["designs"][0]["mean_variance"].is_number());
  CHECK(json["designs"][0]["lacking"].is_null());
  CHECK(json["designs"][0]["doubt_removed"].is_null());
}

TEST_CASE("what a design can't do is said beside the others", "[choice][design]") {
  EmptyShop empty;
  empty.request.dpi = {300};
  const choice::DesignComparison comparison = empty.compared();
  REQUIRE(comparison.impossible.size() == 2);
  CHECK(comparison.impossible[0].first == "split-plot");
  CHECK(comparison.impossible[1].first == "box-behnken");
  CHECK_THAT(report::design_table_text(comparison), Contains("Not possible  box-behnken"));
  check_width(report::design_table_text(comparison));
  empty.request.glass = "no-such-glass";
  CHECK_THROWS_AS(empty.compared(), errors::UserError);
}

TEST_CASE("designs are planned by name with their own bottles and dpi", "[choice][design]") {
  EmptyShop empty;
  const choice::PlannedGrid split = empty.planned("split-plot");
  CHECK(split.grid.bottles().size() == 2);
  CHECK(split.grid.burns() == 4);
  const choice::PlannedGrid lattice = empty.planned("lattice");
  CHECK(lattice.grid.swatches.size() == 36);
  empty.request.dpi = {200, 300};
  CHECK(empty.planned("lattice").grid.swatches.size() == 72);
  CHECK_THROWS_WITH(empty.planned("grid"), Contains("\"grid\"") && Contains("central-composite-faced"));
}

TEST_CASE("where something is known the doubt that each design takes away is compared", "[choice][design]") {
  test::SimulatedShop hidden({bench::make_world(41, bench::drawn_machine(41))});
  choice::GridRequest request;
  hidden.burn_grid(request);
  request.glass = test::SimulatedShop::kGlass;
  const choice::DesignComparison comparison =
      choice::compare_designs(hidden.shop, hidden.evidence, hidden.surfaces, request, "2026-11-25T11:14:05Z");
  REQUIRE(comparison.designs.size() == comparison.doubt_removed.size());
  REQUIRE(comparison.designs[0].design == "targeted");
  REQUIRE(comparison.designs[1].design == "spread");
  REQUIRE(comparison.designs[0].swatches == comparison.designs[1].swatches);
  for (const double share : comparison.doubt_removed) {
    CHECK(share > 0);
    CHECK(share < 1);
  }
  CHECK(comparison.doubt_removed[0] > comparison.doubt_removed[1]);
  CHECK_THAT(report::design_table_text(comparison), Contains("Doubt") && Contains("targeted"));
  check_width(report::design_table_text(comparison));
}
