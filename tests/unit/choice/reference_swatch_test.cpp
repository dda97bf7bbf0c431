#include "choice/reference_swatch.hpp"

#include <catch2/catch.hpp>

#include "choice/next_grid.hpp"
#include "errors/user_error.hpp"
#include "shop/burn_time.hpp"
#include "shop/shop_file.hpp"
#include "support/temporary_folder.hpp"
#include "surface/physical_setting.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using Catch::Matchers::EndsWith;

namespace {

const char* const kNow = "2026-11-25T11:14:05Z";

struct ReferenceShop {
  ReferenceShop() {
    std::filesystem::create_directory(folder.path() / "grids");
    shop = shop::parse_shop(shop::shop_template(), "shop.toml");
    shop.folder = folder.path();
    request.glass = shop.glasses.front().name;
    request.reference = true;
  }
  choice::PlannedGrid plan() const {
    return choice::plan_grid(shop, evidence, surface::fit_shop({}, surface::shop_fit_options(shop)), request,
                             kNow);
  }
  std::optional<choice::ReferenceSwatch> reference(const std::optional<shop::Setting>& in_force = {}) const {
    const shop::Machine& machine = shop.machines.front();
    return choice::reference_swatch(evidence, request.glass, machine, choice::narrowed(machine, request),
                                    in_force);
  }

  test::TemporaryFolder folder;
  shop::Shop shop;
  surface::ShopEvidence evidence;
  choice::GridRequest request;
};

std::vector<design::Swatch> references(const design::Grid& grid) {
  std::vector<design::Swatch> found;
  for (const design::Swatch& swatch : grid.swatches) {
    if (swatch.role == design::Role::reference) found.push_back(swatch);
  }
  return found;
}

}  // namespace

TEST_CASE("a grid gets one reference swatch more, at the setting in force, and later ones the same",
          "[choice][reference]") {
  ReferenceShop sample;
  const shop::Machine& machine = sample.shop.machines.front();
  const shop::Setting in_force{55, 35, machine.dpi.front(), 100, machine.screens.front(), 1};
  REQUIRE(shop::accepts(machine, in_force));
  sample.request.swatches = 6;
  sample.request.in_force = in_force;
  const choice::PlannedGrid first = sample.plan();
  CHECK(first.grid.swatches.size() == 7);
  REQUIRE(references(first.grid).size() == 1);
  CHECK(references(first.grid).front().setting == in_force);
  CHECK(first.reference == "at the setting in force");

  // The next grid keeps to it although another setting is in force by then and the ranges leave it out.
  sample.evidence.grids.push_back({first.grid, {}});
  sample.request.in_force->power_pct = 70;
  sample.request.power_pct = {80, 100};
  const choice::PlannedGrid second = sample.plan();
  REQUIRE(references(second.grid).size() == 1);
  CHECK(references(second.grid).front().setting == in_force);
  CHECK(second.reference == "as in grid " + first.grid.id);
  for (const design::Swatch& swatch : second.grid.swatches) {
    if (swatch.role != design::Role::reference) CHECK(swatch.setting.power_pct >= 80);
  }

  // Not for another glass or machine, nor when it is not asked for.
  sample.evidence.grids.back().grid.glass = "another";
  CHECK(sample.reference(in_force)->reason == "at the setting in force");
  sample.evidence.grids.back().grid.glass = sample.request.glass;
  sample.evidence.grids.back().grid.machine = "another";
  CHECK(sample.reference(in_force)->reason == "at the setting in force");
  sample.request.reference = false;
  CHECK(references(sample.plan().grid).empty());
}

TEST_CASE("without a setting in force the reference lies in the middle of the ranges",
          "[choice][reference]") {
  ReferenceShop sample;
  sample.request.power_pct = {20, 80};  // 40 in the middle of the logs
  sample.request.speed_pct = {10, 90};  // 30
  sample.request.dpi = {sample.shop.machines.front().dpi.front()};
  const std::optional<choice::ReferenceSwatch> middle = sample.reference();
  REQUIRE(middle);
  CHECK(middle->swatch.setting.power_pct == 40);
  CHECK(middle->swatch.setting.speed_pct == 30);
  CHECK(middle->swatch.role == design::Role::reference);
  CHECK_THAT(middle->reason, Contains("middle"));

  // Under a dose limit that forbids the middle, at a milder setting that it allows.
  shop::Machine& machine = sample.shop.machines.front();
  machine.dose_limit_j_mm2 = shop::dose_j_mm2(middle->swatch.setting, machine) / 2;
  const std::optional<choice::ReferenceSwatch> milder = sample.reference();
  REQUIRE(milder);
  CHECK(shop::dose_j_mm2(milder->swatch.setting, machine) <= machine.dose_limit_j_mm2);
  // A setting in force that the limit now forbids is passed over.
  CHECK_THAT(sample.reference(middle->swatch.setting)->reason, Contains("middle"));
  machine.dose_limit_j_mm2 = 1e-6;
  CHECK_FALSE(sample.reference());
}

TEST_CASE("the reference's time comes out of what may be spent", "[choice][reference]") {
  ReferenceShop sample;
  const shop::Machine& machine = sample.shop.machines.front();
  sample.request.design = "spread";
  sample.request.swatches = 12;
  const shop::Setting middle = sample.reference()->swatch.setting;
  const double one = shop::raster_time(8, 8, middle, machine).seconds;
  sample.request.spend.seconds = 5 * one;
  const choice::PlannedGrid plan = sample.plan();
  CHECK(plan.burn_seconds <= 5 * one);
  CHECK(references(plan.grid).size() == 1);
  sample.request.spend.seconds = 0.9 * one;
  CHECK_THROWS_WITH(sample.plan(),
                    Contains("--spend") && Contains("time for the reference and at least one swatch"));
}

TEST_CASE("the reference is one of the swatches that may be spent", "[choice][reference]") {
  ReferenceShop sample;
  sample.request.design = "spread";
  sample.request.spend.swatches = 10;
  const choice::PlannedGrid plan = sample.plan();
  CHECK(plan.grid.swatches.size() == 10);
  CHECK(references(plan.grid).size() == 1);
  sample.request.spend.swatches = 1;
  CHECK_THROWS_WITH(sample.plan(), Contains("--spend") && Contains("--reference"));
}
