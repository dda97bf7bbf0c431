// Opening designs on the machine's dials: ranges, dose limit, levels, repeats, burns.
#include <Eigen/Dense>
#include <algorithm>
#include <catch2/catch.hpp>

#include <cmath>
#include <map>
#include <set>
#include "support/exact_setting.hpp"

#include "design/composite_grid.hpp"
#include "design/design_by_name.hpp"
#include "design/dial_region.hpp"
#include "design/opening_grid.hpp"
#include "design/optimal_grid.hpp"
#include "design/split_plot.hpp"
#include "errors/user_error.hpp"
#include "shop/burn_time.hpp"
#include "unit/design/bench_machine.hpp"

using namespace frostcal;
using namespace frostcal::design;
using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using frostcal::design::test::bench;

namespace {

shop::Machine narrowed_bench() {
  shop::Machine machine = bench();
  machine.power_pct = {20, 90, 1};
  machine.speed_pct = {10, 60, 1};
  machine.dpi = {250, 300, 400, 500};
  return machine;
}

std::vector<shop::Setting> settings_of(const std::vector<PlannedSwatch>& planned) {
  std::vector<shop::Setting> settings;
  for (const PlannedSwatch& swatch : planned) settings.push_back(swatch.setting);
  return settings;
}

std::set<int> dpi_of(const std::vector<PlannedSwatch>& planned) {
  std::set<int> dpi;
  for (const PlannedSwatch& swatch : planned) dpi.insert(swatch.setting.dpi);
  return dpi;
}

bool same_settings(const std::vector<PlannedSwatch>& a, const std::vector<PlannedSwatch>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const auto& x, const auto& y) {
    return shop::same_setting(x.setting, y.setting) && x.role == y.role && x.bottle == y.bottle;
  });
}

int repeats_in(const std::vector<PlannedSwatch>& planned) {
  return static_cast<int>(std::count_if(planned.begin(), planned.end(),
                                        [](const PlannedSwatch& p) { return p.role == Role::repeat; }));
}

}  // namespace

TEST_CASE("every design stays on the dials, in the ranges and below the dose limit", "[design][opening]") {
  shop::Machine machine = bench();
  const shop::Machine allowed = narrowed_bench();
  for (const double limit : {0.0, 4.0}) {
    machine.dose_limit_j_mm2 = limit;
    for (const std::string& name : opening_designs()) {
      CAPTURE(name, limit);
      DesignRequest request;
      request.name = name;
      request.swatches = 18;
      const OpeningDesign design = opening_design(machine, allowed, request);
      CHECK(design.swatches.size() >= 10);
      int refused = 0;
      for (const PlannedSwatch& swatch : design.swatches) {
        const shop::Setting& s = swatch.setting;
        if (!shop::accepts(machine, s) || s.power_pct < 20 || s.power_pct > 90 || s.speed_pct < 10 ||
            s.speed_pct > 60 || std::count(allowed.dpi.begin(), allowed.dpi.end(), s.dpi) == 0)
          ++refused;
      }
      CHECK(refused == 0);
      if (name == "spread" || name == "split-plot" || name.rfind("optimal", 0) == 0) {
        CHECK(design.swatches.size() == 18);
        CHECK(dpi_of(design.swatches).size() <= (name == "split-plot" ? 4u : 3u));
      }
      const OpeningDesign again = opening_design(machine, allowed, request);
      CHECK(same_settings(design.swatches, again.swatches));
    }
  }
}

TEST_CASE("an unknown design is named with its nearest", "[design][opening]") {
  DesignRequest request;
  request.name = "sprad";
  CHECK_THROWS_WITH(opening_design(bench(), bench(), request),
                    Contains("\"sprad\"") && Contains("box-behnken") && Contains("did you mean spread?"));
}

TEST_CASE("designs that can be smaller are when time is short, the others say what they take",
          "[design][opening]") {
  const shop::Machine machine = bench();
  for (const std::string& name : opening_designs()) {
    CAPTURE(name);
    DesignRequest request;
    request.name = name;
    request.swatches = 24;
    const auto seconds = [&](const OpeningDesign& design) {
      double sum = 0;
      for (const PlannedSwatch& swatch : design.swatches)
        sum += shop::raster_time(8, 8, swatch.setting, machine).seconds;
      return sum;
    };
    const OpeningDesign whole = opening_design(machine, machine, request);
    request.most_seconds = 0.7 * seconds(whole);
    if (name == "spread" || name == "split-plot" || name.rfind("optimal", 0) == 0) {
      // The finest dpi take longest: without them all swatches fit.
      const OpeningDesign coarse = opening_design(machine, machine, request);
      CHECK(seconds(coarse) <= request.most_seconds);
      CHECK(coarse.swatches.size() == 24);
      CHECK(*dpi_of(coarse.swatches).rbegin() < *dpi_of(whole.swatches).rbegin());
      request.most_seconds = 0.45 * seconds(whole);
      const OpeningDesign part = opening_design(machine, machine, request);
      CHECK(seconds(part) <= request.most_seconds);
      CHECK(part.swatches.size() >= 12);
      CHECK(part.swatches.size() < 24);
    } else {
      CHECK_THROWS_WITH(opening_design(machine, machine, request), Contains("--spend") && Contains(name));
    }
    request.most_seconds = 0.01;
    CHECK_THROWS_WITH(opening_design(machine, machine, request), Contains("--spend"));
    if (name.rfind("optimal", 0) == 0) {
      // Two dpi leave 9 terms of the quadratic; with as many swatches it can be had.
      CHECK_THROWS_WITH(opening_design(machine, machine, request), Contains("9 swatches of " + name));
      DesignRequest fewest = request;
      fewest.most_seconds = 0;
      fewest.swatches = 9;
      shop::Machine coarse = machine;
      coarse.dpi.resize(2);
      request.most_seconds = seconds(opening_design(machine, coarse, fewest)) + 0.01;
      CHECK(seconds(opening_design(machine, machine, request)) <= request.most_seconds);
    }
  }
}

TEST_CASE("coded values and dials agree", "[design][opening]") {
  const shop::Machine machine = bench();
  shop::Machine allowed = narrowed_bench();
  const DialRegion region(machine, allowed);
  CHECK(region.names() == std::vector<std::string>{"power", "speed", "dpi"});
  const shop::Setting low{20, 10, 250, 100, "stucki", 1};
  const shop::Setting high{90, 60, 500, 100, "stucki", 1};
  CHECK((region.code(low) - Eigen::RowVectorXd::Constant(3, -1)).norm() < 1e-12);
  CHECK((region.code(high) - Eigen::RowVectorXd::Constant(3, 1)).norm() < 1e-12);
  const shop::Setting middle = region.at(Eigen::RowVectorXd::Zero(3));
  CHECK(middle.power_pct == 42);  // sqrt(20 * 90) = 42.4
  CHECK(middle.speed_pct == 24);  // sqrt(10 * 60) = 24.5, and 24 is nearer in the log
  CHECK(middle.dpi == 400);       // sqrt(250 * 500) = 353.6: 400 lies nearer in the log than 300
  for (const shop::Setting& setting : region.lattice(5))
    CHECK(shop::same_setting(region.at(region.code(setting)), setting));

  // Inner 80 % of the log range.
  const DialRegion inner(machine, allowed, {0.8, 0});
  for (const shop::Setting& setting : inner.lattice(11)) {
    CHECK(setting.power_pct >= std::floor(std::exp(std::log(20.) + 0.1 * std::log(4.5))));
    CHECK(setting.power_pct <= std::ceil(std::exp(std::log(20.) + 0.9 * std::log(4.5))));
  }
  // Few dpi values: the ends and the middle one.
  const DialRegion few(machine, bench(), {1.0, 3});
  std::set<int> dpi;
  for (const shop::Setting& setting : few.lattice(2)) dpi.insert(setting.dpi);
  CHECK(dpi == std::set<int>{200, 300, 600});

  allowed.power_pct = {60, 60, 1};
  const DialRegion fixed(machine, allowed);
  CHECK(fixed.names() == std::vector<std::string>{"speed", "dpi"});
  CHECK(fixed.at(Eigen::RowVectorXd::Zero(2)).power_pct == 60);
}

TEST_CASE("composite designs sit on the dials in logs", "[design][opening]") {
  shop::Machine machine = bench();
  machine.dpi = {300};
  shop::Machine allowed = machine;
  allowed.power_pct = {25, 100, 1};
  allowed.speed_pct = {16, 64, 1};
  const auto faces = composite_swatches(machine, allowed, Composite::face_centred);
  REQUIRE(faces.size() == 13);
  CHECK(repeats_in(faces) == 4);
  std::map<double, int> powers;
  for (const PlannedSwatch& swatch : faces) ++powers[swatch.setting.power_pct];
  CHECK(powers == std::map<double, int>{{25, 3}, {50, 7}, {100, 3}});
  // Rotatable within the ranges: axial points at the ends, corners at 1 / sqrt 2 of the log half-range.
  const auto rotatable = composite_swatches(machine, allowed, Composite::rotatable);
  powers.clear();
  for (const PlannedSwatch& swatch : rotatable) ++powers[swatch.setting.power_pct];
  CHECK(powers == std::map<double, int>{{25, 1}, {31, 2}, {50, 7}, {82, 2}, {100, 1}});
  CHECK(same_settings(rotatable, composite_swatches(machine, allowed, Composite::inscribed)));

  CHECK_THROWS_WITH(box_behnken_swatches(machine, allowed), Contains("3 to 4 of power, speed, dpi and tone"));
  allowed.dpi = machine.dpi = {250, 500};
  CHECK_THROWS_WITH(box_behnken_swatches(machine, allowed), Contains("2 usable values of dpi"));
  const auto both = composite_swatches(machine, allowed, Composite::face_centred);
  CHECK(both.size() == 26);  // the two-factor design at each dpi
  CHECK(repeats_in(both) == 8);
  allowed.dpi = machine.dpi = {250, 350, 500};
  const auto behnken = box_behnken_swatches(machine, allowed);
  CHECK(behnken.size() == 15);
  CHECK(repeats_in(behnken) == 2);
  CHECK(dpi_of(behnken) == std::set<int>{250, 350, 500});
}

TEST_CASE("spread settings fill the inner range over balanced dpi", "[design][opening]") {
  const shop::Machine machine = bench();
  SpreadOptions options;
  const auto settings = spread_settings(machine, machine, options);
  REQUIRE(settings.size() == 12);
  std::map<int, int> dpi;
  double low = 1e9;
  double high = 0;
  for (const shop::Setting& setting : settings) {
    ++dpi[setting.dpi];
    CHECK(setting.power_pct >= 5 * std::pow(20.0, 0.1) - 0.5);
    CHECK(setting.power_pct <= 5 * std::pow(20.0, 0.9) + 0.5);
    low = std::min(low, shop::dose_j_mm2(setting, machine));
    high = std::max(high, shop::dose_j_mm2(setting, machine));
  }
  for (const auto& [value, count] : dpi) CHECK(count == 4);
  CHECK(dpi.size() == 3);
  CHECK(high / low > 20);  // the machine spans a factor of 1200 in dose, its inner part about 130
}

TEST_CASE("the optimal grid beats other grids of its size by its own criterion", "[design][opening]") {
  const shop::Machine machine = bench();
  const DialRegion region(machine, machine, {0.8, 3});
  const QuadraticModel model = region.model();
  const Eigen::MatrixXd moments = mean_moments(model.rows(region.code(region.lattice(11))));
  const auto judged = [&](const std::vector<shop::Setting>& settings) {
    std::vector<int> all(settings.size());
    for (std::size_t i = 0; i < all.size(); ++i) all[i] = static_cast<int>(i);
    return judge(model.rows(region.code(settings)), moments, all);
  };
  OptimalOptions options;
  options.repeats = 0;
  const ExchangeResult i_best = judged(settings_of(optimal_swatches(machine, machine, options)));
  options.criterion = Criterion::d;
  const ExchangeResult d_best = judged(settings_of(optimal_swatches(machine, machine, options)));
  CHECK(i_best.mean_variance < d_best.mean_variance);
  CHECK(d_best.log_det > i_best.log_det);
  SpreadOptions spread;
  spread.swatches = 16;
  const ExchangeResult other = judged(spread_settings(machine, machine, spread));
  REQUIRE(other.estimable);
  CHECK(i_best.mean_variance < other.mean_variance);

  options.swatches = 9;
  CHECK_THROWS_WITH(optimal_swatches(machine, machine, options),
                    Contains("at least 10") && Contains("power, speed and dpi"));
}

TEST_CASE("repeats of an optimal grid stand on settings of its own", "[design][opening]") {
  OptimalOptions options;
  options.swatches = 18;
  options.repeats = 4;
  const auto planned = optimal_swatches(bench(), bench(), options);
  CHECK(planned.size() == 18);
  CHECK(repeats_in(planned) >= 4);
}

TEST_CASE("a split plot has one dpi per burn and beats an arbitrary one", "[design][opening]") {
  const shop::Machine machine = bench();
  SplitPlotOptions options;
  options.swatches = 16;
  const SplitPlot plot = split_plot(machine, machine, options);
  REQUIRE(plot.swatches.size() == 16);
  std::map<int, std::set<int>> dpi_of_burn;
  std::set<std::pair<int, int>> sends;
  std::vector<int> bottle;
  for (std::size_t i = 0; i < plot.swatches.size(); ++i) {
    dpi_of_burn[plot.burn[i]].insert(plot.swatches[i].setting.dpi);
    sends.insert({plot.swatches[i].bottle, plot.swatches[i].setting.dpi});
    bottle.push_back(plot.swatches[i].bottle);
  }
  CHECK(dpi_of_burn.size() == 4);
  for (const auto& [burn, dpi] : dpi_of_burn) CHECK(dpi.size() == 1);
  CHECK(sends.size() == 4);

  // The stated criterion values are those of generalised least squares.
  const DialRegion region(machine, machine, {0.8, 0});
  const QuadraticModel model = region.model();
  const Eigen::MatrixXd moments = mean_moments(model.rows(region.code(region.lattice(11))));
  const Eigen::MatrixXd v = grade_covariance(plot.burn, bottle, options.spread);
  const auto variance_of = [&](const std::vector<shop::Setting>& settings) {
    const Eigen::MatrixXd f = model.rows(region.code(settings));
    const Eigen::MatrixXd m = f.transpose() * v.inverse() * f;
    return (m.inverse() * moments).trace();
  };
  std::vector<shop::Setting> settings = settings_of(plot.swatches);
  CHECK_THAT(plot.mean_variance, WithinRel(variance_of(settings), 1e-8));

  // No swatch can be moved along its own power or speed to advantage, on the lattice that was searched.
  double least = plot.mean_variance;
  for (std::size_t i = 0; i < settings.size(); ++i) {
    for (int factor = 0; factor < 2; ++factor) {
      for (const double level : region.levels(factor, 11)) {
        Eigen::RowVectorXd point = region.code(settings[i]);
        point(factor) = level;
        std::vector<shop::Setting> moved = settings;
        moved[i] = region.at(point);
        least = std::min(least, variance_of(moved));
      }
    }
  }
  CHECK(least > plot.mean_variance * (1 - 1e-6));

  options.burns = 20;
  CHECK_THROWS_AS(split_plot(machine, machine, options), errors::UserError);
  shop::Machine one_dpi = machine;
  one_dpi.dpi = {300};
  options.burns = 4;
  CHECK_THROWS_WITH(split_plot(machine, one_dpi, options), Contains("one dpi"));
}
