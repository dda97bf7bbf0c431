#include "report/glass_pictures.hpp"

#include <catch2/catch.hpp>
#include <numeric>

#include "surface/physical_setting.hpp"
#include "surface/shop_surface.hpp"
#include "unit/sheet/demo_grid.hpp"

using namespace frostcal;
using frostcal::sheet::test::demo_grid;
using frostcal::sheet::test::demo_shop;

namespace {

/// A shop with one machine, and one grid of it with frost and no chipping by the place along the axis.
struct Graded {
  shop::Shop shop = demo_shop();
  surface::ShopEvidence evidence;

  explicit Graded(const design::Grid& grid, int (*frost_at)(double x_mm)) {
    surface::GradedGrid graded;
    graded.grid = grid;
    for (const design::Swatch& swatch : grid.swatches) {
      grades::SwatchGrade grade;
      grade.swatch = swatch.id;
      grade.grader = "Ann";
      grade.frost = frost_at(swatch.x_mm);
      grade.chipping = 0;
      graded.graded.push_back(grade);
    }
    evidence.grids.push_back(graded);
  }
  report::GlassReport report(const std::optional<shop::Setting>& best = {}) {
    evidence.observations = surface::observations_of(shop, evidence.grids[0]);
    const surface::ShopSurface surfaces = surface::fit_shop(shop, evidence.observations);
    choice::GlassChoice choice;
    choice.glass = "amber-jug";
    choice.machine = "bench";
    if (best) choice.best = choice::Decision();
    if (best) choice.best->setting = *best;
    return report::glass_report(shop.machines[0], surfaces.glass(surface::surface_name("amber-jug", "bench")),
                                evidence, choice);
  }
};

}  // namespace

TEST_CASE("grades are expected by the dose of each swatch's own place", "[report][taper]") {
  // One setting throughout: only the taper makes the grades differ. Expected at the panel's centre alone, all
  // six grades would be expected in the same shares at neck and base, most of them in the middle.
  Graded tapered(demo_grid(5, 6, 1), [](double x) {
    return x < -20 ? 5 : x < -10 ? 4 : x < 10 ? 3 : x < 20 ? 1 : 0;
  });
  tapered.shop.vessels[0] = {"tall-jug", 40, 120, 95, 2};
  const report::GlassReport report = tapered.report();
  REQUIRE(report.counts.size() == 2);
  const report::GradeCounts& frost = report.counts[0];
  CHECK(std::accumulate(frost.seen.begin(), frost.seen.end(), 0.0) == 30);
  CHECK(std::abs(std::accumulate(frost.expected.begin(), frost.expected.end(), 0.0) - 30) < 1e-6);
  double apart = 0;
  for (std::size_t j = 0; j < frost.seen.size(); ++j) apart += std::abs(frost.seen[j] - frost.expected[j]);
  CAPTURE(frost.seen, frost.expected);
  CHECK(apart < 12);
}

TEST_CASE("a dial of one value gets no axis in the report", "[report]") {
  const auto frost = [](double x) { return x < 0 ? 2 : 4; };
  const auto pictured = [&](const shop::SteppedRange& power, const shop::SteppedRange& speed) {
    Graded one(demo_grid(2, 3, 1), frost);
    one.shop.machines[0].power_pct = power;
    one.shop.machines[0].speed_pct = speed;
    return one.report(shop::Setting{20, 40, 300, 100, "stucki", 1});
  };
  const shop::SteppedRange wide{5, 100, 1};
  CHECK(pictured(wide, wide).maps.size() == 1);
  CHECK(pictured(wide, wide).cuts.size() == 2);
  const report::GlassReport one_power = pictured({20, 20, 1}, wide);
  CHECK(one_power.maps.empty());
  REQUIRE(one_power.cuts.size() == 1);
  CHECK(one_power.cuts[0].axis == "speed %");
  CHECK(pictured(wide, {40, 40.5, 1}).cuts.size() == 1);
  CHECK(pictured({20, 20, 1}, {40, 40, 1}).cuts.empty());
}
