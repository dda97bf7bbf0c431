// Every figure of `plan --compare` worked out a second time, from the dials on, without the classes that the
// table is made with.
#include <Eigen/Dense>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <set>

#include "design/design_by_name.hpp"
#include "design/evaluation.hpp"
#include "design/placement.hpp"
#include "unit/design/bench_machine.hpp"

using namespace frostcal;
using namespace frostcal::design;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using frostcal::design::test::bench;

namespace {

constexpr double kInner = 0.8;

Grid grid_of(const std::string& name, int bottles, const shop::Machine& machine,
             const shop::Machine& allowed) {
  DesignRequest request;
  request.name = name;
  request.bottles = bottles;
  if (name == "spread") request.swatches = 20;
  std::vector<ScrapBottle> shelf;
  for (int b = 0; b < bottles; ++b) shelf.push_back({"jug-" + std::to_string(b + 1), {}});
  Grid grid;
  grid.design = name;
  grid.swatches = place_swatches(opening_design(machine, allowed, request).swatches, shelf, machine,
                                 {"tall-jug", 88, 88, 95, 2}, PlacementOptions{});
  return grid;
}

// -1 and 1 at the ends of the inner share of the log range.
double coded(double value, double low, double high, double inner) {
  return (std::log(value) - std::log(low * high) / 2) / (inner * std::log(high / low) / 2);
}

Eigen::RowVectorXd point(double power, double speed, double dpi) {
  return Eigen::RowVector3d(coded(power, 5, 100, kInner), coded(speed, 5, 100, kInner),
                            coded(dpi, 200, 600, 1));
}

Eigen::RowVectorXd quadratic(const Eigen::RowVectorXd& u) {
  Eigen::RowVectorXd row(10);
  row << 1, u(0), u(1), u(2), u(0) * u(1), u(0) * u(2), u(1) * u(2), u(0) * u(0), u(1) * u(1), u(2) * u(2);
  return row;
}

// At most 11 whole percents between 5 and 100, in the inner 80 % of the logs, nearest to even steps there.
std::vector<double> even_percents() {
  std::vector<double> values;
  for (int step = 0; step <= 10; ++step) {
    double best = 0;
    for (int value = 5; value <= 100; ++value) {
      const double at = coded(value, 5, 100, kInner);
      if (std::abs(at) > 1) continue;
      const double wished = -1 + 0.2 * step;
      if (best == 0 || std::abs(at - wished) < std::abs(coded(best, 5, 100, kInner) - wished)) best = value;
    }
    if (values.empty() || values.back() != best) values.push_back(best);
  }
  return values;
}

struct ByHand {
  double d = 0;  // det(M)^(1/10) / n
  double mean_variance = 0;
  double largest_variance = 0;
  double power = 1;
  double reach = 0;
  std::size_t recipes = 0;
};

ByHand by_hand(const Grid& grid) {
  const auto n = static_cast<Eigen::Index>(grid.swatches.size());
  Eigen::MatrixXd x(n, 10);
  Eigen::MatrixXd v = Eigen::MatrixXd::Zero(n, n);
  ByHand found;
  std::set<std::tuple<int, double, double>> typed;
  std::map<char, std::pair<double, double>> ends{{'p', {1e9, 0}}, {'s', {1e9, 0}}};
  for (Eigen::Index i = 0; i < n; ++i) {
    const Swatch& one = grid.swatches[static_cast<std::size_t>(i)];
    x.row(i) = quadratic(point(one.setting.power_pct, one.setting.speed_pct, one.setting.dpi));
    v(i, i) += 0.45 * 0.45 + 1.0 / 12;  // grading noise and rounding to whole grades
    for (Eigen::Index j = 0; j < n; ++j) {
      const Swatch& other = grid.swatches[static_cast<std::size_t>(j)];
      if (one.bottle == other.bottle) v(i, j) += 0.25 * 0.25;
      if (one.burn == other.burn) v(i, j) += 0.15 * 0.15;
    }
    typed.insert({one.burn, one.setting.power_pct, one.setting.speed_pct});
    for (auto& [dial, range] : ends) {
      const double value = dial == 'p' ? one.setting.power_pct : one.setting.speed_pct;
      range = {std::min(range.first, value), std::max(range.second, value)};
    }
  }
  const Eigen::FullPivLU<Eigen::MatrixXd> lu(x.transpose() * v.inverse() * x);
  const Eigen::MatrixXd inverse = lu.inverse();
  found.d = std::pow(lu.determinant(), 0.1) / static_cast<double>(n);
  int points = 0;
  for (const double power : even_percents()) {
    for (const double speed : even_percents()) {
      for (const double dpi : {200, 250, 300, 400, 500, 600}) {
        const Eigen::RowVectorXd f = quadratic(point(power, speed, dpi));
        const double variance = f * inverse * f.transpose();
        found.mean_variance += variance;
        found.largest_variance = std::max(found.largest_variance, variance);
        ++points;
      }
    }
  }
  found.mean_variance /= points;
  for (int factor = 0; factor < 3; ++factor) {
    // From -1 to 1 with the others at 0, as the difference of two predictions.
    Eigen::RowVectorXd low = Eigen::RowVectorXd::Zero(3);
    Eigen::RowVectorXd high = low;
    low(factor) = -1;
    high(factor) = 1;
    const Eigen::RowVectorXd change = quadratic(high) - quadratic(low);
    const double shift = 1 / std::sqrt(change * inverse * change.transpose());
    const double power = 0.5 * std::erfc((1.959963985 - shift) / std::sqrt(2.0)) +
                         0.5 * std::erfc((1.959963985 + shift) / std::sqrt(2.0));
    found.power = std::min(found.power, power);
  }
  found.recipes = typed.size();
  found.reach =
      std::min(std::log(ends['p'].second / ends['p'].first), std::log(ends['s'].second / ends['s'].first)) /
      std::log(20.0);
  return found;
}

}  // namespace

TEST_CASE("the compared figures are those worked out by hand", "[design][evaluation]") {
  const shop::Machine machine = bench();
  REQUIRE(machine.power_pct.min == 5);
  REQUIRE(machine.power_pct.max == 100);
  REQUIRE(machine.speed_pct.min == 5);
  REQUIRE(machine.speed_pct.max == 100);
  REQUIRE(machine.dpi == std::vector<int>{200, 250, 300, 400, 500, 600});
  std::vector<Grid> grids;
  for (const std::string name :
       {"spread", "optimal", "optimal-d", "split-plot", "central-composite-faced", "box-behnken"})
    grids.push_back(grid_of(name, name == "optimal-d" ? 1 : 2, machine, machine));
  std::vector<ByHand> expected;
  double best_d = 0;
  double best_i = 0;
  for (const Grid& grid : grids) {
    expected.push_back(by_hand(grid));
    best_d = std::max(best_d, expected.back().d);
    best_i =
        std::max(best_i, 1 / (static_cast<double>(grid.swatches.size()) * expected.back().mean_variance));
  }
  const std::vector<ComparedDesign> table = compare_grids(grids, machine, machine);
  REQUIRE(table.size() == grids.size());
  for (std::size_t i = 0; i < table.size(); ++i) {
    const ComparedDesign& line = table[i];
    const ByHand& hand = expected[i];
    CAPTURE(line.design);
    REQUIRE(line.evaluation.estimable);
    CHECK(line.evaluation.lacking.empty());
    CHECK(line.swatches == static_cast<int>(grids[i].swatches.size()));
    CHECK(line.bottles == (line.design == "optimal-d" ? 1 : 2));
    CHECK(line.recipes == static_cast<int>(hand.recipes));
    CHECK_THAT(line.evaluation.mean_variance, WithinRel(hand.mean_variance, 1e-8));
    CHECK_THAT(line.evaluation.largest_variance, WithinRel(hand.largest_variance, 1e-8));
    CHECK_THAT(line.evaluation.power, WithinAbs(hand.power, 1e-7));
    CHECK_THAT(line.d_efficiency, WithinRel(hand.d / best_d, 1e-8));
    CHECK_THAT(line.i_efficiency, WithinRel(1 / (line.swatches * hand.mean_variance) / best_i, 1e-8));
    CHECK_THAT(line.reach, WithinAbs(hand.reach, 1e-9));
    std::set<std::pair<std::string, int>> sends;
    for (const Swatch& one : grids[i].swatches) sends.insert({one.bottle, one.setting.dpi});
    CHECK(line.burns == static_cast<int>(sends.size()));  // no send needs more recipes than one burn takes
  }
  CHECK(table[4].reach == 1);  // face-centred: the ends themselves
  CHECK(table[1].reach < 0.81);
}

TEST_CASE("a grid that leaves terms open says which", "[design][evaluation]") {
  const shop::Machine machine = bench();
  const auto lacking = [&](const shop::Machine& allowed, std::size_t swatches) {
    Grid grid = grid_of("spread", 1, machine, allowed);
    grid.swatches.resize(swatches);
    const std::vector<ComparedDesign> table = compare_grids({grid}, machine, machine);
    CHECK_FALSE(table[0].evaluation.estimable);
    return table[0].evaluation.lacking;
  };
  shop::Machine allowed = machine;
  CHECK(lacking(allowed, 9) == "9 swatches for 10 terms");
  allowed.dpi = {300};
  CHECK(lacking(allowed, 20) == "dpi at one value only");
  allowed.dpi = {300, 400};
  CHECK(lacking(allowed, 20) == "dpi at two values: no curve");
}
