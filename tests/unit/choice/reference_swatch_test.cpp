#include "choice/reference_swatch.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "choice/next_grid.hpp"
#include "choice/power_information.hpp"
#include "errors/user_error.hpp"
#include "shop/burn_time.hpp"
#include "shop/shop_file.hpp"
#include "support/exact_setting.hpp"
#include "support/temporary_folder.hpp"
#include "surface/physical_setting.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using Catch::Matchers::EndsWith;

namespace {

const char* const kNow = "2026-11-25T11:14:05Z";

struct Burned {
  double power_pct = 0;
  int frost = 0;
  int chipping = 0;
};

// Bare at little power, steep in the middle, then even frost over a factor of two, then chips.
const std::vector<Burned> kLadder{{8, 0},  {10, 0}, {13, 0}, {16, 1}, {18, 2}, {20, 3},    {23, 4},
                                  {28, 5}, {35, 5}, {45, 5}, {55, 5}, {65, 5}, {80, 4, 2}, {100, 4, 3}};

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
    const surface::ShopSurface surfaces =
        surface::fit_shop(evidence.observations, surface::shop_fit_options(shop));
    return choice::reference_swatch(evidence, surfaces, request.glass, machine,
                                    choice::narrowed(machine, request), in_force);
  }
  shop::Setting at(double power_pct) const {
    const shop::Machine& machine = shop.machines.front();
    return {power_pct, 40, machine.dpi.front(), 100, machine.screens.front(), 1};
  }
  void add_grid(const std::string& id, design::Role role, const std::vector<Burned>& swatches) {
    surface::GradedGrid graded;
    graded.grid.id = id;
    graded.grid.glass = request.glass;
    graded.grid.machine = shop.machines.front().name;
    graded.grid.vessel = shop.vessels.front().name;
    for (const Burned& one : swatches) {
      design::Swatch swatch;
      swatch.id = "C" + std::to_string(graded.grid.swatches.size() + 1);
      swatch.bottle = "scrap-1";
      swatch.role = role;
      swatch.setting = at(one.power_pct);
      graded.grid.swatches.push_back(swatch);
      grades::SwatchGrade grade;
      grade.swatch = swatch.id;
      grade.frost = one.frost;
      grade.chipping = one.chipping;
      grade.grader = "Ann";
      grade.graded_at = kNow;
      graded.graded.push_back(grade);
    }
    const auto observations = surface::observations_of(shop, graded);
    evidence.observations.insert(evidence.observations.end(), observations.begin(), observations.end());
    evidence.grids.push_back(graded);
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
  CHECK(shop::same_setting(references(first.grid).front().setting, in_force));
  CHECK(first.reference == "at the setting in force");

  // The next grid keeps to it although another setting is in force by then and the ranges leave it out.
  sample.evidence.grids.push_back({first.grid, {}});
  sample.request.in_force->power_pct = 70;
  sample.request.power_pct = {80, 100};
  const choice::PlannedGrid second = sample.plan();
  REQUIRE(references(second.grid).size() == 1);
  CHECK(shop::same_setting(references(second.grid).front().setting, in_force));
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
  sample.evidence.grids.back().grid.machine = machine.name;
  sample.request.reference = false;
  CHECK(references(sample.plan().grid).empty());
}

TEST_CASE("once swatches are graded the reference repeats one where a little less power shows",
          "[choice][reference]") {
  ReferenceShop sample;
  sample.add_grid("0001-jug", design::Role::design, kLadder);
  const shop::Setting in_force = sample.at(40);
  const std::optional<choice::ReferenceSwatch> edge = sample.reference(in_force);
  REQUIRE(edge);
  // Neither where frost is even whatever the power, nor where there is none, nor where it chips.
  CHECK(edge->swatch.setting.power_pct >= 13);
  CHECK(edge->swatch.setting.power_pct <= 23);
  CHECK(shop::same_setting(edge->swatch.setting, sample.at(edge->swatch.setting.power_pct)));
  CHECK_THAT(edge->reason, Contains("of grid 0001-jug, where a little less power shows"));

  // A reference near there is kept, so that it can be compared; one on the plateau gives way.
  const surface::ShopEvidence ladder = sample.evidence;
  sample.add_grid("0002-jug", design::Role::reference, {{19, 3}});
  CHECK(shop::same_setting(sample.reference(in_force)->swatch.setting, sample.at(19)));
  CHECK(sample.reference(in_force)->reason == "as in grid 0002-jug");
  sample.evidence = ladder;
  sample.add_grid("0002-jug", design::Role::reference, {{40, 5}});
  CHECK_THAT(sample.reference(in_force)->reason, Contains("0001-jug") && Contains("less power shows"));

  // Swatches that the machine no longer burns don't count, nor do those that nobody graded.
  sample.evidence = ladder;
  sample.shop.machines.front().power_pct.min = 50;
  CHECK(sample.reference(sample.at(60))->swatch.setting.power_pct >= 50);
  sample.evidence.grids.front().graded.clear();
  sample.evidence.observations.clear();
  CHECK(sample.reference(sample.at(60))->reason == "at the setting in force");
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
  sample.request.spend.seconds = 10 * one;
  const choice::PlannedGrid plan = sample.plan();
  CHECK(plan.burn_seconds <= 10 * one);
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

// S. Kullback, Information Theory and Statistics (1959), chapter 2: to second order the divergence between
// neighbouring values of a parameter is half its Fisher information times their distance squared.
TEST_CASE("what a swatch tells of power is twice the divergence of its grades per squared step",
          "[choice][reference]") {
  ReferenceShop sample;
  sample.add_grid("0001-jug", design::Role::design, kLadder);
  const shop::Machine& machine = sample.shop.machines.front();
  const surface::ShopSurface surfaces =
      surface::fit_shop(sample.evidence.observations, surface::shop_fit_options(sample.shop));
  const surface::GlassSurface& surface =
      surfaces.glass(surface::surface_name(sample.request.glass, machine.name));
  for (const double power_pct : {12.0, 20.0, 40.0, 80.0}) {
    surface::PhysicalSetting setting = surface::physical_setting(sample.at(power_pct), machine);
    const auto grades = [&](double step) {
      surface::PhysicalSetting moved = setting;
      moved.power_w *= std::exp(step);
      const surface::GradeProbabilities p = surface.grade_probabilities(moved);
      std::vector<double> all(p.frost.begin(), p.frost.end());
      all.insert(all.end(), p.chipping.begin(), p.chipping.end());
      return all;
    };
    constexpr double kStep = 0.002;
    const std::vector<double> here = grades(0);
    double divergence = 0;
    for (const double step : {-kStep, kStep}) {
      const std::vector<double> there = grades(step);
      for (std::size_t k = 0; k < here.size(); ++k) {
        if (here[k] > 1e-9) divergence += here[k] * std::log(here[k] / there[k]);
      }
    }
    CHECK_THAT(choice::power_information(surface, setting),
               Catch::Matchers::WithinRel(divergence / (kStep * kStep), 0.05));
  }
}
