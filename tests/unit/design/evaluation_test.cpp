#include "design/evaluation.hpp"

#include <Eigen/Dense>
#include <catch2/catch.hpp>
#include <cmath>

#include "design/composite_grid.hpp"
#include "design/design_by_name.hpp"
#include "design/placement.hpp"
#include "unit/design/bench_machine.hpp"

using namespace frostcal;
using namespace frostcal::design;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using frostcal::design::test::bench;

namespace {

const shop::Vessel kJug{"tall-jug", 88, 88, 95, 2};

Grid grid_of(const std::string& name, int swatches, int bottles, const shop::Machine& machine,
             const shop::Machine& allowed) {
  DesignRequest request;
  request.name = name;
  request.swatches = swatches;
  request.bottles = bottles;
  const OpeningDesign design = opening_design(machine, allowed, request);
  std::vector<ScrapBottle> shelf;
  for (int b = 0; b < bottles; ++b) shelf.push_back({"jug-" + std::to_string(b + 1), {}});
  Grid grid;
  grid.design = name;
  grid.swatches = place_swatches(design.swatches, shelf, machine, kJug, PlacementOptions{});
  return grid;
}

}  // namespace

// With one burn, no bottle or burn spread and unit swatch variance the figures are those of ordinary least
// squares: here the published rotatable design, whose prediction variance at the centre is 0.2.
TEST_CASE("evaluation agrees with a published design", "[design][evaluation]") {
  shop::Machine machine = bench();
  machine.dpi = {300};
  machine.power_pct = {1, 100, 0.01};
  machine.speed_pct = {1, 100, 0.01};
  const DialRegion region(machine, machine);
  const Eigen::MatrixXd coded = central_composite(2, Composite::inscribed, 5);
  std::vector<Swatch> swatches;
  for (Eigen::Index i = 0; i < coded.rows(); ++i) {
    Swatch swatch;
    swatch.bottle = "jug-1";
    swatch.setting = region.at(coded.row(i));
    swatches.push_back(swatch);
  }
  GradeSpread unit;
  unit.noise = std::sqrt(1 - 1.0 / 12);
  unit.bottle = unit.burn = 0;
  const Evaluation evaluation = evaluate(swatches, region, unit);
  REQUIRE(evaluation.estimable);
  CHECK(evaluation.terms == 6);
  // det(F'F) = 163840 for the rotatable design with axial points at sqrt 2 (computed with NumPy from the
  // points); dividing the factors by sqrt 2 divides the six columns by 2^(1/2 + 1/2 + 1 + 1 + 1) in all.
  const double det = 163840 / std::pow(2.0, 8.0);
  CHECK_THAT(evaluation.d_per_swatch, WithinRel(std::pow(det, 1.0 / 6) / 13, 1e-3));
  // Sum of x1^2 is 8 for axial points at sqrt 2, hence 4 here: the ends differ with variance 4 / 4.
  const double shift = 1.0;
  const double power = 0.5 * std::erfc((1.959964 - shift) / std::sqrt(2.0)) +
                       0.5 * std::erfc((1.959964 + shift) / std::sqrt(2.0));
  CHECK_THAT(evaluation.power, WithinAbs(power, 1e-3));
}

TEST_CASE("a grid at one dpi says that it can't teach dpi", "[design][evaluation]") {
  const shop::Machine machine = bench();
  shop::Machine one_dpi = machine;
  one_dpi.dpi = {300};
  Grid grid = grid_of("lattice", 0, 1, machine, one_dpi);
  const DialRegion region(machine, machine);
  CHECK_FALSE(evaluate(grid.swatches, region).estimable);
  CHECK(evaluate(grid.swatches, DialRegion(machine, one_dpi)).estimable);
}

TEST_CASE("more swatches and quieter grades raise the power", "[design][evaluation]") {
  const shop::Machine machine = bench();
  const DialRegion region(machine, machine, {0.8, 0});
  const Evaluation few = evaluate(grid_of("optimal", 14, 2, machine, machine).swatches, region);
  const Evaluation many = evaluate(grid_of("optimal", 40, 2, machine, machine).swatches, region);
  REQUIRE(few.estimable);
  REQUIRE(many.estimable);
  CHECK(many.power > few.power);
  CHECK(many.mean_variance < few.mean_variance);
  CHECK(few.largest_variance >= few.mean_variance);
  GradeSpread quiet;
  quiet.noise = 0.2;
  CHECK(evaluate(grid_of("optimal", 14, 2, machine, machine).swatches, region, quiet).power > few.power);
}

TEST_CASE("compared designs are rated against the best of them", "[design][evaluation]") {
  const shop::Machine machine = bench();
  std::vector<Grid> grids;
  for (const std::string name : {"spread", "optimal", "split-plot", "box-behnken"})
    grids.push_back(grid_of(name, 16, 2, machine, machine));
  const auto table = compare_grids(grids, machine, machine);
  REQUIRE(table.size() == 4);
  double best_d = 0;
  double best_i = 0;
  for (const ComparedDesign& line : table) {
    CAPTURE(line.design);
    CHECK(line.evaluation.estimable);
    CHECK(line.d_efficiency > 0);
    CHECK(line.d_efficiency <= 1);
    CHECK(line.i_efficiency <= 1);
    CHECK(line.burns >= 3);
    best_d = std::max(best_d, line.d_efficiency);
    best_i = std::max(best_i, line.i_efficiency);
  }
  CHECK(best_d == 1);
  CHECK(best_i == 1);
  CHECK(table[1].i_efficiency > table[0].i_efficiency);  // optimal against spread
  CHECK(table[2].burns == 4);
}
