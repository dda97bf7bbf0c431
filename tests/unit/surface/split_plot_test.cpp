#include "surface/setting_response.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/random_engine.hpp"

using Catch::Matchers::WithinAbs;
using namespace frostcal::surface;

namespace {

// 5 x 5 settings of power and speed on each burn; one dpi per burn, two burns to a bottle.
std::vector<SettingResponse> burned(const std::vector<int>& dpi, double burn_sd, std::uint64_t seed) {
  frostcal::numerics::RandomEngine random(seed);
  std::vector<SettingResponse> seen;
  for (std::size_t b = 0; b < dpi.size(); ++b) {
    const double burn_effect = burn_sd * random.normal();
    for (int i = 0; i < 25; ++i) {
      const double a = (i % 5 - 2) / 2.0;
      const double c = (i / 5 - 2) / 2.0;
      SettingResponse one;
      one.setting = {50 + 20 * a, 40 + 20 * c, dpi[b], 100, "stucki", 1};
      one.grid = "0001-jug";
      one.bottle = "jug-" + std::to_string(b / 2 + 1);
      one.burn = static_cast<int>(b) + 1;
      one.value = 3 + a - 0.5 * c - 1.5 * a * a - c * c + 0.5 * a * c + burn_effect + 0.1 * random.normal();
      seen.push_back(one);
    }
  }
  return seen;
}

}  // namespace

TEST_CASE("a measured response: stationary point and ridge of the surface it came from", "[classical]") {
  const auto surface = fit_settings(burned({300}, 0, 3));
  REQUIRE(surface);
  CHECK_FALSE(surface->split_plot);
  REQUIRE(surface->canonical.exists);
  CHECK(surface->canonical.kind == StationaryKind::maximum);
  // 2 B x = -b with B = (-1.5, 0.25; 0.25, -1), b = (1, -0.5).
  CHECK_THAT(surface->canonical.stationary_point[0], WithinAbs(7.0 / 23, 0.06));
  CHECK_THAT(surface->canonical.stationary_point[1], WithinAbs(-4.0 / 23, 0.06));
  REQUIRE(surface->ridge.size() == 5);
  for (const RidgePoint& point : surface->ridge) {
    CHECK_THAT(point.coded.norm(), WithinAbs(point.radius, 1e-9));
    CHECK(point.predicted <= surface->at_stationary + 1e-9);
  }
}

TEST_CASE("dpi set once per burn is judged by burns, not by swatches", "[classical][reml]") {
  std::vector<int> dpi;
  for (int i = 0; i < 12; ++i) dpi.push_back(200 + 100 * (i % 3));
  constexpr int kRuns = 60;
  double variance = 0;
  double claimed = 0;  // mean squared standard error of dpi's slope
  double seen = 0;     // mean square of that slope, which is 0 in truth
  double by_swatches = 0;
  for (int run = 1; run <= kRuns; ++run) {
    const auto surface = fit_settings(burned(dpi, 0.5, run));
    REQUIRE(surface);
    CHECK(surface->factors[2] == "dpi");
    REQUIRE(surface->split_plot);
    const SplitPlot& plot = *surface->split_plot;
    CHECK(plot.random_effects == std::vector<std::string>{"bottle", "burn"});
    REQUIRE(plot.terms[3] == "x3");
    CHECK_THAT(std::sqrt(plot.reml.residual_variance), WithinAbs(0.1, 0.02));
    variance += plot.reml.variances.sum() / kRuns;
    claimed += std::pow(plot.reml.standard_errors[3], 2) / kRuns;
    seen += std::pow(plot.reml.coefficients[3], 2) / kRuns;
    by_swatches += std::pow(surface->fit.fit.standard_errors[3], 2) / kRuns;
  }
  CHECK_THAT(variance, WithinAbs(0.25, 0.06));   // four standard errors of the mean of 60
  CHECK_THAT(seen, WithinAbs(0.25 / 8, 0.025));  // x3 is -1, 0, 1 on four burns each: sum of squares 8
  CHECK_THAT(claimed, WithinAbs(0.25 / 8, 0.012));
  CHECK(by_swatches < 0.2 * claimed);
}

TEST_CASE("with few burns bottles are not told apart, with fewer nothing is", "[classical][reml]") {
  const auto six = fit_settings(burned({200, 300, 400, 200, 300, 400}, 0.5, 7));
  REQUIRE(six);
  REQUIRE(six->split_plot);
  CHECK(six->split_plot->random_effects == std::vector<std::string>{"burn"});
  const auto three = fit_settings(burned({200, 300, 400}, 0.5, 7));
  REQUIRE(three);
  CHECK_FALSE(three->split_plot);
}

TEST_CASE("a flat response on several burns has no variances to tell", "[classical][reml]") {
  std::vector<SettingResponse> flat = burned({200, 300, 400, 200, 300, 400}, 0, 5);
  for (SettingResponse& one : flat) one.value = 4;
  const auto surface = fit_settings(flat);
  REQUIRE(surface);
  CHECK_FALSE(surface->split_plot);
  CHECK(surface->fit.fit.r_squared == 0);
}
