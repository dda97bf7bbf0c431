#include "choice/targeted_grid.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include <cmath>
#include <set>
#include "support/exact_setting.hpp"

#include "choice/doubt_reduction.hpp"
#include "numerics/random_engine.hpp"
#include "shop/burn_time.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_surface.hpp"

using namespace frostcal;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using choice::DoubtReduction;
using choice::plan_targeted;
using choice::TargetedGrid;
using choice::TargetedOptions;

namespace {

shop::Machine small_machine() {
  shop::Machine machine;
  machine.name = "bench";
  machine.rated_power_w = 60;
  machine.top_speed_mm_s = 1200;
  machine.dpi = {200, 300, 500};
  machine.power_pct = {5, 100, 2.5};
  machine.speed_pct = {5, 100, 2.5};
  machine.screens = {"stucki"};
  return machine;
}

// Two glasses with ordinal grades over a curved surface in dose, 18 swatches each.
std::vector<surface::Observation> some_grades() {
  const shop::Machine machine = small_machine();
  numerics::RandomEngine random(21);
  std::vector<surface::Observation> all;
  for (int i = 0; i < 36; ++i) {
    surface::Observation seen;
    seen.glass = i < 18 ? "first" : "second";
    seen.bottle = seen.glass + (i % 2 == 0 ? "-1" : "-2");
    seen.burn = seen.bottle + "/1";
    seen.grader = "A";
    seen.swatch = std::to_string(i);
    const double power = 5 + static_cast<double>(random.below(96));
    const double speed = 5 + static_cast<double>(random.below(96));
    const int dpi = machine.dpi[random.below(3)];
    seen.setting = surface::physical_setting({power, speed, dpi, 100, "stucki", 1}, machine);
    const double dose = std::log(power / speed) + std::log(dpi / 300.0);
    const auto grade = [&](double value, int most) {
      return std::clamp(static_cast<int>(std::lround(value + 0.45 * random.normal())), 0, most);
    };
    seen.frost = grade(3.6 + 1.5 * dose - 0.7 * dose * dose, 5);
    seen.chipping = grade(0.9 * dose + 0.4 * std::log(power / 50), 3);
    all.push_back(seen);
  }
  return all;
}

struct Fitted {
  Fitted() {
    shop.machines = {small_machine()};
    surfaces = surface::fit_shop(some_grades(), surface::shop_fit_options(shop));
  }
  const surface::GlassSurface& glass() const { return surfaces.glass("first"); }
  shop::Shop shop;
  surface::ShopSurface surfaces;
};

std::vector<surface::PhysicalSetting> places(const std::vector<shop::Setting>& settings) {
  std::vector<surface::PhysicalSetting> physical;
  for (const shop::Setting& setting : settings)
    physical.push_back(surface::physical_setting(setting, small_machine()));
  return physical;
}

std::vector<shop::Setting> lattice() {
  std::vector<shop::Setting> settings;
  for (const int dpi : small_machine().dpi) {
    for (const double speed : {10.0, 30.0, 90.0}) {
      for (const double power : {10.0, 30.0, 90.0}) settings.push_back({power, speed, dpi, 100, "stucki", 1});
    }
  }
  return settings;
}

double seconds_of(const std::vector<shop::Setting>& settings, double swatch_mm) {
  double seconds = 0;
  for (const shop::Setting& setting : settings)
    seconds += shop::raster_time(swatch_mm, swatch_mm, setting, small_machine()).seconds;
  return seconds;
}

}  // namespace

TEST_CASE("the doubt falls by what a swatch was said to take off it, in any order", "[choice][targeted]") {
  const Fitted fitted;
  // The second target stands for two draws.
  const auto targets = places(
      {{40, 40, 300, 100, "stucki", 1}, {60, 30, 200, 100, "stucki", 1}, {60, 30, 200, 100, "stucki", 1}});
  const auto candidates = places(lattice());
  const DoubtReduction start(fitted.glass(), targets, candidates);
  DoubtReduction one = start;
  DoubtReduction other = start;
  std::vector<Eigen::Index> all;
  for (std::size_t i = 0; i < candidates.size(); ++i) all.push_back(static_cast<Eigen::Index>(i));
  CHECK((one.reductions(all) - start.initial_reductions()).norm() < 1e-12);
  for (const Eigen::Index taken : {4, 13, 4, 22}) {
    const double before = one.doubt();
    const double promised = one.reductions({taken})[0];
    CHECK(promised > 0);
    one.take(taken);
    CHECK_THAT(before - one.doubt(), WithinRel(promised / 3, 1e-9));
  }
  for (const Eigen::Index taken : {22, 4, 13, 4}) other.take(taken);
  CHECK_THAT(other.doubt(), WithinRel(one.doubt(), 1e-9));
  // `one` looked at some candidates on the way, `other` at none.
  CHECK((one.reductions(all) - other.reductions(all)).cwiseAbs().maxCoeff() <
        1e-9 * start.initial_reductions().maxCoeff());
}

TEST_CASE("the doubt is the delta method's, written out", "[choice][targeted]") {
  const Fitted fitted;
  const auto targets = places({{40, 40, 300, 100, "stucki", 1}});
  const DoubtReduction doubt(fitted.glass(), targets, targets);
  // Slope of the chance by finite differences of each contrast's mean, variances from the components, by the
  // 8 heaviest of each response.
  const auto normal_cdf = [](double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); };
  struct Part {
    double weight, mean, variance, spread, noise;
  };
  const auto parts = [&](surface::Response response) {
    std::vector<surface::ContrastComponent> all = fitted.glass().contrasts(response);
    std::stable_sort(all.begin(), all.end(),
                     [](const auto& a, const auto& b) { return a.weight > b.weight; });
    all.resize(std::min<std::size_t>(8, all.size()));
    std::vector<Part> made;
    double total = 0;
    for (const auto& component : all) {
      const Eigen::VectorXd g = fitted.glass().contrast_features(component, targets).row(0).transpose();
      made.push_back({component.weight, g.dot(component.mean), g.dot(component.covariance * g),
                      component.noise * component.noise + component.new_bottle_variance, component.noise});
      total += component.weight;
    }
    for (Part& part : made) part.weight /= total;
    return made;
  };
  const std::vector<Part> frost = parts(surface::Response::frost);
  const std::vector<Part> chipping = parts(surface::Response::chipping);
  const auto chance = [&](const Part& part, double shift) {
    return normal_cdf((part.mean + shift) / std::sqrt(part.spread + part.variance));
  };
  const auto mean_chance = [&](const std::vector<Part>& all) {
    double sum = 0;
    for (const Part& part : all) sum += part.weight * chance(part, 0);
    return sum;
  };
  // Expected squared score of one grading at latent value `at` above the bar's cutpoint, scores by finite
  // differences; cutpoints are one grade apart, `below` of them under the bar's.
  const auto information = [&](double at, double noise, int cutpoints, int below) {
    const auto probability = [&](int grade, double value) {
      const double under = grade == 0 ? 0 : normal_cdf((grade - 1 - below - value) / noise);
      return (grade == cutpoints ? 1 : normal_cdf((grade - below - value) / noise)) - under;
    };
    double sum = 0;
    for (int grade = 0; grade <= cutpoints; ++grade) {
      const double p = probability(grade, at);
      const double slope = (probability(grade, at + 1e-5) - probability(grade, at - 1e-5)) / 2e-5;
      if (p > 1e-9) sum += slope * slope / p;
    }
    return sum;
  };
  double expected = 0;
  double expected_reduction = 0;
  const auto add = [&](const std::vector<Part>& all, double other, int cutpoints, int below, double sign) {
    for (const Part& part : all) {
      const double slope = (chance(part, 1e-4) - chance(part, -1e-4)) / 2e-4;
      const double weight = part.weight * slope * slope * other * other;
      expected += weight * part.variance;
      const double step = std::sqrt(3 * part.variance);
      const double w = (4 * information(sign * part.mean, part.noise, cutpoints, below) +
                        information(sign * part.mean - step, part.noise, cutpoints, below) +
                        information(sign * part.mean + step, part.noise, cutpoints, below)) /
                       6;
      expected_reduction += weight * w * part.variance * part.variance /
                            (1 + w * (part.spread - part.noise * part.noise + part.variance));
    }
  };
  add(frost, mean_chance(chipping), 5, fitted.glass().bar().frost - 1, 1);
  add(chipping, mean_chance(frost), 3, fitted.glass().bar().chipping, -1);
  CHECK_THAT(doubt.doubt(), WithinRel(expected, 1e-6));
  CHECK_THAT(doubt.initial_reductions()[0], WithinRel(expected_reduction, 1e-3));
}

TEST_CASE("looking only at promising candidates chooses as looking at all does", "[choice][targeted]") {
  const Fitted fitted;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    CAPTURE(seed);
    TargetedOptions options;
    options.swatches = 12;
    options.seed = seed;
    options.worth_another_look = 0;
    const TargetedGrid all = plan_targeted(fitted.glass(), small_machine(), small_machine(), 0.9, options);
    options.worth_another_look = TargetedOptions().worth_another_look;
    const TargetedGrid lazy = plan_targeted(fitted.glass(), small_machine(), small_machine(), 0.9, options);
    CHECK(lazy.settings == all.settings);
  }
}

TEST_CASE("narrow ranges are looked at finely enough for the swatches", "[choice][targeted]") {
  const Fitted fitted;
  shop::Machine allowed = small_machine();
  allowed.power_pct = {50, 50, 2.5};
  allowed.speed_pct = {30, 40, 2.5};
  TargetedOptions options;
  options.swatches = 20;  // two dpi, five speeds, each twice
  const TargetedGrid grid = plan_targeted(fitted.glass(), small_machine(), allowed, 0.9, options);
  options.most_dpi = 2;
  CHECK(plan_targeted(fitted.glass(), small_machine(), allowed, 0.9, options).settings.size() == 20);
  CHECK(grid.settings.size() == 20);
}

TEST_CASE("a targeted grid keeps to its dpi, its copies and the dose limit", "[choice][targeted]") {
  const Fitted fitted;
  shop::Machine machine = small_machine();
  machine.dose_limit_j_mm2 = 1.0;
  shop::Machine allowed = machine;
  allowed.speed_pct = {20, 100, 2.5};
  TargetedOptions options;
  options.swatches = 24;
  options.most_dpi = 2;
  const TargetedGrid grid = plan_targeted(fitted.glass(), machine, allowed, 0.9, options);
  REQUIRE(grid.settings.size() == 24);
  std::set<int> dpi;
  for (const shop::Setting& setting : grid.settings) {
    dpi.insert(setting.dpi);
    CHECK(shop::accepts(machine, setting));
    CHECK(setting.speed_pct >= 20);
    CHECK(std::count(grid.settings.begin(), grid.settings.end(), setting) <= options.most_alike);
  }
  CHECK(dpi.size() <= 2);
  CHECK(grid.doubt_after < grid.doubt_before);
  CHECK(grid.confirming == 0);
}

TEST_CASE("what is to be confirmed is burned first, and the rest is chosen knowing it",
          "[choice][targeted]") {
  const Fitted fitted;
  TargetedOptions options;
  options.swatches = 8;
  const TargetedGrid without = plan_targeted(fitted.glass(), small_machine(), small_machine(), 0.9, options);
  const shop::Setting best{37.5, 42.5, 300, 100, "stucki", 1};  // not on the candidates' lattice
  options.first = {best, best};
  const TargetedGrid grid = plan_targeted(fitted.glass(), small_machine(), small_machine(), 0.9, options);
  REQUIRE(grid.settings.size() == 8);
  CHECK(grid.confirming == 2);
  CHECK(grid.settings[0] == best);
  CHECK(grid.settings[1] == best);
  CHECK(grid.doubt_before == without.doubt_before);
  CHECK(grid.doubt_after < grid.doubt_before);
  options.first.assign(20, best);
  CHECK(plan_targeted(fitted.glass(), small_machine(), small_machine(), 0.9, options).settings.size() == 8);
}

TEST_CASE("short time goes to what it teaches, and is not overspent", "[choice][targeted]") {
  const Fitted fitted;
  TargetedOptions options;
  options.swatches = 24;
  options.swatch_mm = 10;
  const TargetedGrid unbound = plan_targeted(fitted.glass(), small_machine(), small_machine(), 0.9, options);
  for (const double part : {0.15, 0.3, 0.6}) {
    CAPTURE(part);
    options.most_seconds = part * seconds_of(unbound.settings, 10);
    const TargetedGrid grid = plan_targeted(fitted.glass(), small_machine(), small_machine(), 0.9, options);
    REQUIRE_FALSE(grid.settings.empty());
    CHECK(seconds_of(grid.settings, 10) <= options.most_seconds);
    // At least as good as the most useful swatches without a thought for time, cut where the time ends.
    std::vector<shop::Setting> cut;
    for (const shop::Setting& setting : unbound.settings) {
      cut.push_back(setting);
      if (seconds_of(cut, 10) > options.most_seconds) break;
    }
    cut.pop_back();
    TargetedOptions first;
    first.swatches = static_cast<int>(cut.size());
    first.first = cut;
    const TargetedGrid same_time =
        plan_targeted(fitted.glass(), small_machine(), small_machine(), 0.9, first);
    CHECK(grid.settings.size() >= cut.size());
    CHECK(grid.doubt_after <= same_time.doubt_after * (1 + 1e-9));
  }
  options.most_seconds = 0.01;
  CHECK(plan_targeted(fitted.glass(), small_machine(), small_machine(), 0.9, options).settings.empty());
}
