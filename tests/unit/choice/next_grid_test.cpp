#include "choice/next_grid.hpp"

#include <catch2/catch.hpp>

#include <map>
#include <set>
#include "support/exact_setting.hpp"

#include "choice/best_setting.hpp"
#include "design/placement.hpp"
#include "errors/user_error.hpp"
#include "recovery/simulated_shop.hpp"
#include "shop/burn_time.hpp"

using namespace frostcal;
using bench::drawn_machine;
using bench::make_world;
using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;
using choice::GridRequest;
using choice::PlannedGrid;
using design::Role;
using test::SimulatedShop;

namespace {

PlannedGrid planned(const SimulatedShop& shop, GridRequest request) {
  request.glass = SimulatedShop::kGlass;
  request.seed = 7;
  return choice::plan_grid(shop.shop, shop.evidence, shop.surfaces, request, "2026-11-25T11:14:05Z");
}

GridRequest of_swatches(int swatches) {
  GridRequest request;
  request.swatches = swatches;
  return request;
}

std::vector<design::Swatch> confirming(const PlannedGrid& plan) {
  std::vector<design::Swatch> found;
  for (const design::Swatch& swatch : plan.grid.swatches) {
    if (swatch.role == Role::confirm) found.push_back(swatch);
  }
  return found;
}

shop::Setting best_so_far(const SimulatedShop& shop) {
  const std::string name = surface::surface_name(SimulatedShop::kGlass, shop.shop.machines.front().name);
  const surface::GlassSurface& glass = shop.surfaces.glass(name);
  return choice::rank_settings(shop.shop.machines.front(),
                               [&](const std::vector<surface::PhysicalSetting>& settings) {
                                 return glass.scan_chance(settings);
                               })
      .front()
      .setting;
}

int size_of(const PlannedGrid& plan) {
  return static_cast<int>(plan.grid.swatches.size());
}

}  // namespace

TEST_CASE("a targeted grid confirms the best setting so far, on different bottles", "[choice][plan]") {
  SimulatedShop shop({make_world(31, drawn_machine(31))});
  CHECK(confirming(planned(shop, of_swatches(12))).empty());
  shop.burn_grid(of_swatches(8));
  CHECK(confirming(planned(shop, of_swatches(12))).empty());  // too little is known to be confirmed
  shop.burn_grid(of_swatches(6));
  const shop::Setting best = best_so_far(shop);

  GridRequest twelve = of_swatches(12);
  const PlannedGrid one_bottle = planned(shop, twelve);
  CHECK(size_of(one_bottle) == 12);
  CHECK(confirming(one_bottle).size() == 2);
  for (const design::Swatch& swatch : confirming(one_bottle)) CHECK(shop::same_setting(swatch.setting, best));
  twelve.bottles = 2;
  const std::vector<design::Swatch> two = confirming(planned(shop, twelve));
  REQUIRE(two.size() == 2);
  CHECK(two[0].bottle != two[1].bottle);

  const PlannedGrid small = planned(shop, of_swatches(6));
  CHECK(size_of(small) == 6);
  CHECK(confirming(small).size() == 1);
}

TEST_CASE("logged pieces are no graded swatches: nothing is confirmed by them alone", "[choice][plan]") {
  SimulatedShop shop({make_world(31, drawn_machine(31))});
  const shop::Machine& machine = shop.shop.machines.front();
  for (int i = 1; i <= 2 * choice::kGradedToConfirm; ++i) {
    surface::Observation piece;
    piece.glass = surface::surface_name(SimulatedShop::kGlass, machine.name);
    piece.bottle = piece.burn = "piece " + std::to_string(i);
    piece.swatch = "pieces.csv line " + std::to_string(i);
    piece.grader = "Ann";
    piece.piece = true;
    piece.setting = surface::physical_setting({60, 40, machine.dpi.front(), 100, "", 1}, machine);
    piece.frost = 4;
    piece.chipping = 0;
    shop.evidence.observations.push_back(piece);
  }
  shop.surfaces = surface::fit_shop(shop.evidence.observations, surface::shop_fit_options(shop.shop));
  const PlannedGrid plan = planned(shop, of_swatches(12));
  CHECK(plan.targeted);
  CHECK(confirming(plan).empty());
  CHECK_THAT(plan.reason, Contains("nothing of this glass is graded") && Contains("its pieces leave"));
}

TEST_CASE("what may be spent is kept to and used", "[choice][plan]") {
  SimulatedShop shop({make_world(32, drawn_machine(32))});
  const auto check_all = [&](const std::string& design) {
    CAPTURE(design);
    GridRequest request;
    request.design = design;
    const int most = design == "targeted" ? choice::kMostAtOnce : choice::kMostAtOnce / 2;

    request.spend = {0, 18, 0};
    const PlannedGrid by_swatches = planned(shop, request);
    CHECK(size_of(by_swatches) == 18);
    CHECK_FALSE(by_swatches.held_back);

    request.spend = {0, 0, 1};
    const PlannedGrid by_bottle = planned(shop, request);
    CHECK(size_of(by_bottle) == most);  // 147 places
    CHECK(by_bottle.grid.bottles().size() == 1);
    CHECK(by_bottle.held_back);
    request.swatch_mm = 30;
    const PlannedGrid full = planned(shop, request);
    design::PlacementOptions large;
    large.swatch_mm = 30;
    const int places = design::bottle_capacity(shop.shop.machines.front(), shop.shop.vessels.front(), large);
    REQUIRE(places < most);
    CHECK(size_of(full) == places);
    CHECK_FALSE(full.held_back);
    request.swatch_mm = 8;

    request.spend = {0, 12, 2};
    CHECK(planned(shop, request).grid.bottles().size() == 2);

    request.spend = {90, 0, 0};
    const PlannedGrid by_time = planned(shop, request);
    CHECK(by_time.burn_seconds <= 90);
    CHECK(by_time.burn_seconds > 60);  // a swatch with its id takes 4 to 30 s
    request.spend = {240, 6, 1};
    const PlannedGrid by_all = planned(shop, request);
    CHECK(size_of(by_all) == 6);
    CHECK(by_all.burn_seconds <= 240);
    CHECK(by_all.grid.bottles().size() == 1);
    request.spend = {3600, 0, 0};
    const PlannedGrid plenty = planned(shop, request);
    CHECK(size_of(plenty) == most);
    CHECK(plenty.held_back);
  };
  check_all("spread");
  shop.burn_grid(of_swatches(12));
  check_all("targeted");
  check_all("spread");
}

TEST_CASE("a grid of fewer swatches than asked for says why", "[choice][plan]") {
  SimulatedShop shop({make_world(32, drawn_machine(32))});
  CHECK(planned(shop, of_swatches(24)).fewer_because.empty());
  GridRequest one = of_swatches(12);
  one.power_pct = std::pair{50.0, 50.0};
  one.speed_pct = std::pair{30.0, 30.0};
  one.dpi = {shop.shop.machines.front().dpi.front()};
  CHECK(size_of(planned(shop, one)) == 12);  // a first grid repeats them
  shop.burn_grid(of_swatches(12));
  const PlannedGrid few = planned(shop, one);
  CHECK(size_of(few) == 2);
  CHECK(few.wanted == 12);
  CHECK_THAT(few.fewer_because,
             Contains("more than 2 times") && Contains("the ranges leave no more settings"));
  GridRequest timed = of_swatches(40);
  timed.spend = {90, 0, 0};
  const PlannedGrid in_time = planned(shop, timed);
  CHECK(size_of(in_time) < 40);
  CHECK_THAT(in_time.fewer_because, Contains("the time that may be spent allows no more"));
  timed.swatches = 0;
  CHECK(planned(shop, timed).fewer_because.empty());
  // A dose limit under which ten settings lie, at the coarsest dpi.
  SimulatedShop mild({make_world(32, drawn_machine(32))});
  shop::Machine& machine = mild.shop.machines.front();
  std::vector<double> doses;
  for (const double power : machine.power_pct.values())
    for (const double speed : machine.speed_pct.values())
      doses.push_back(
          shop::dose_j_mm2({power, speed, machine.dpi.front(), 100, machine.screens.front(), 1}, machine));
  std::sort(doses.begin(), doses.end());
  machine.dose_limit_j_mm2 = doses[9];
  const PlannedGrid limited = planned(mild, of_swatches(24));
  CHECK(size_of(limited) <= 10);
  CHECK(limited.wanted == 24);
  CHECK_THAT(limited.fewer_because, Contains("the ranges and the dose limit leave no more settings"));
}

TEST_CASE("designs and numbers beyond what may be spent are refused, saying what they need",
          "[choice][plan]") {
  const SimulatedShop shop({make_world(32, drawn_machine(32))});
  GridRequest request;
  request.design = "lattice";
  request.spend = {0, 18, 0};
  CHECK_THROWS_WITH(planned(shop, request), Contains("18 swatches") && Contains("36"));
  request.spend = {0, 0, 1};
  request.swatch_mm = 20;
  CHECK_THROWS_WITH(planned(shop, request), Contains("1 bottle") && Contains("at least 2"));
  request = of_swatches(20);
  request.spend = {0, 18, 0};
  CHECK_THROWS_WITH(planned(shop, request), Contains("--swatches") && Contains("at most 18"));
  request = {};
  request.bottles = 3;
  request.spend = {0, 0, 2};
  CHECK_THROWS_WITH(planned(shop, request), Contains("--bottles") && Contains("at most 2"));
  request = {};
  request.spend = {0.5, 0, 0};
  CHECK_THROWS_WITH(planned(shop, request), Contains("--spend"));
}

TEST_CASE("the least time that a refusal names is enough", "[choice][plan]") {
  SimulatedShop shop({make_world(32, drawn_machine(32))});
  for (const bool known : {false, true}) {
    if (known) shop.burn_grid(of_swatches(12));
    double least = 0;
    for (double seconds = 2; seconds <= 30; seconds += 4) {
      CAPTURE(known, seconds);
      GridRequest request;
      request.spend = {seconds, 0, 0};
      try {
        const PlannedGrid plan = planned(shop, request);
        CHECK(plan.burn_seconds <= seconds);
        if (least > 0) CHECK(least <= seconds);
        break;
      } catch (const errors::UserError& error) {
        const std::string text = error.what();
        const std::size_t at = text.find("at least ");
        if (at == std::string::npos || text.find(" with ids and marks") == std::string::npos) continue;
        const double named = std::stod(text.substr(at + 9));
        CHECK(named <= 30);
        if (named == least) continue;
        request.spend.seconds = least = named;
        CHECK_NOTHROW(planned(shop, request));
      }
    }
    CHECK(least > 0);
  }
}

TEST_CASE("a request that can't be meant is refused, and the plan says what it rests on", "[choice][plan]") {
  const SimulatedShop shop({make_world(32, drawn_machine(32))});
  GridRequest request;
  request.design = "spred";
  CHECK_THROWS_WITH(planned(shop, request), Contains("\"spred\"") && Contains("did you mean spread?"));
  request = {};
  request.bottles = 13;
  CHECK_THROWS_WITH(planned(shop, request), Contains("--bottles") && Contains("at most 12"));
  request = {};
  request.design = "lattice";
  request.levels = {30, 30};
  CHECK_THROWS_WITH(planned(shop, request), Contains("900 swatches") && Contains("at most 500"));
  request = {};
  request.design = "targeted";
  CHECK_THAT(planned(shop, request).reason,
             Contains("nothing of this glass is graded on bench") && !Contains("other"));
}

TEST_CASE("a short opening grid leaves out fine dpi to have more swatches", "[choice][plan]") {
  const SimulatedShop shop({make_world(32, drawn_machine(32))});
  GridRequest request;
  request.design = "spread";
  request.swatches = 12;
  const PlannedGrid whole = planned(shop, request);
  request.spend = {0.6 * whole.burn_seconds, 0, 0};
  const PlannedGrid part = planned(shop, request);
  CHECK(part.burn_seconds <= request.spend.seconds);
  // The same share of the swatches would be 7.
  CHECK(size_of(part) > 7);
  int finest = 0;
  for (const design::Swatch& swatch : part.grid.swatches) finest = std::max(finest, swatch.setting.dpi);
  int finest_whole = 0;
  for (const design::Swatch& swatch : whole.grid.swatches)
    finest_whole = std::max(finest_whole, swatch.setting.dpi);
  CHECK(finest < finest_whole);
}
