#include "surface/setting_response.hpp"

#include <catch2/catch.hpp>

using Catch::Matchers::WithinAbs;
using namespace frostcal;
using namespace frostcal::surface;

namespace {

SettingResponse seen(double power, double speed, int dpi, double value,
                     const std::string& grid = "0001-jug") {
  return {{power, speed, dpi, 100, "stucki", 1}, grid, "jug-1", 1, value};
}

}  // namespace

TEST_CASE("a surface without noise is found again, with the shift of a second grid", "[surface][classical]") {
  // In coded units y = 3 + x1 - 2 x2 + 0.5 x1 x2 - x1^2 - 2 x2^2, and 0.25 more on the second grid.
  std::vector<SettingResponse> rows;
  for (int p = -1; p <= 1; ++p) {
    for (int s = -1; s <= 1; ++s) {
      const double y = 3 + p - 2 * s + 0.5 * p * s - p * p - 2 * s * s;
      rows.push_back(seen(50 + 20 * p, 30 + 10 * s, 300, y));
      rows.push_back(seen(50 + 20 * p, 30 + 10 * s, 300, y + 0.25, "0002-jug"));
    }
  }
  const auto surface = fit_settings(rows);
  REQUIRE(surface);
  CHECK(surface->factors == std::vector<std::string>{"power_pct", "speed_pct"});
  CHECK(surface->grids == std::vector<std::string>{"0001-jug", "0002-jug"});
  CHECK(surface->left_out.empty());
  const double expected[] = {3, 0.25, 1, -2, 0.5, -1, -2};
  REQUIRE(surface->fit.fit.coefficients.size() == 7);
  for (int k = 0; k < 7; ++k) CHECK_THAT(surface->fit.fit.coefficients[k], WithinAbs(expected[k], 1e-12));
  // Gradient zero: 1 + 0.5 x2 - 2 x1 = 0, -2 + 0.5 x1 - 4 x2 = 0.
  REQUIRE(surface->canonical.exists);
  const double x1 = 3.0 / 7.75;
  const double x2 = (-2 + 0.5 * x1) / 4;
  CHECK_THAT(surface->stationary_setting[0], WithinAbs(50 + 20 * x1, 1e-9));
  CHECK_THAT(surface->stationary_setting[1], WithinAbs(30 + 10 * x2, 1e-9));
  CHECK(surface->canonical.kind == StationaryKind::maximum);
  CHECK(surface->within_burned);
}

TEST_CASE("terms that the settings cannot tell apart are left out, by name", "[surface][classical]") {
  std::vector<SettingResponse> rows;
  for (const double power : {20.0, 40.0, 60.0}) {
    for (const int dpi : {250, 500}) rows.push_back(seen(power, 30, dpi, power + 0.01 * dpi));
  }
  const auto surface = fit_settings(rows);
  REQUIRE(surface);
  CHECK(surface->factors == std::vector<std::string>{"power_pct", "dpi"});
  CHECK(surface->left_out == std::vector<std::string>{"dpi^2"});
  rows.resize(4);  // two powers left
  CHECK(fit_settings(rows)->left_out == std::vector<std::string>{"power_pct x dpi", "power_pct^2", "dpi^2"});
  rows.resize(3);  // as many rows as coefficients of the plane
  CHECK_FALSE(fit_settings(rows));
  CHECK_FALSE(fit_settings({seen(20, 30, 300, 1), seen(20, 30, 300, 2)}));
  CHECK_FALSE(fit_settings({}));
}
