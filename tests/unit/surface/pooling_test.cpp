#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/random_engine.hpp"
#include "surface/shop_surface.hpp"

using Catch::Matchers::WithinAbs;
using namespace frostcal::surface;

namespace {

FitOptions bench_options(bool pool) {
  FitOptions options;
  options.centre = {25.0, 380.0, 25.4 / 350};
  options.pool = pool;
  return options;
}

/// n swatches of a made-up glass whose best dose lies `shift` above the centre, in u1.
std::vector<Observation> grid_of(const std::string& glass, double shift, int n, std::uint64_t seed) {
  frostcal::numerics::RandomEngine random(seed);
  std::vector<Observation> grid;
  for (int i = 0; i < n; ++i) {
    Observation o;
    o.glass = glass;
    o.bottle = glass + (i % 2 ? "-1" : "-2");
    o.burn = glass + std::to_string(i % 3);
    o.grader = "Wen";
    o.setting = {std::exp(std::log(5.0) + random.uniform() * 2.7),
                 std::exp(std::log(90.0) + random.uniform() * 2.5), 25.4 / (250 + 50 * (i % 4)), 1, 1};
    const Coordinates u = coordinates(o.setting, bench_options(true).centre);
    const double dose = u(0) - shift;
    const double frost = 5 - 0.8 * dose * dose - 0.3 * u(1) * u(1) + 0.3 * random.normal();
    const double chipping = 1.5 * (dose - 0.9) + 0.3 * random.normal();
    o.frost = static_cast<int>(std::lround(std::fmax(0, std::fmin(5, frost))));
    o.chipping = static_cast<int>(std::lround(std::fmax(0, std::fmin(3, chipping))));
    grid.push_back(o);
  }
  return grid;
}

void append(std::vector<Observation>& to, const std::vector<Observation>& from) {
  to.insert(to.end(), from.begin(), from.end());
}

PhysicalSetting at_dose(double u1) {
  return {25 * std::exp(0.7 * u1 / 2), 380 * std::exp(-0.7 * u1 / 2), 25.4 / 350, 1, 1};
}

double pooled_share(const GlassSurface& glass, Response response) {
  double share = 0;
  for (const ScaleComponent& c : glass.posterior(response).components) share += c.weight;
  REQUIRE(std::fabs(share - 1) < 1e-12);
  share = 0;
  for (const ScaleComponent& c : glass.posterior(response).components) share += c.pooled ? c.weight : 0;
  return share;
}

}  // namespace

TEST_CASE("a glass alone in its shop is not changed by pooling", "[surface]") {
  const std::vector<Observation> grid = grid_of("cruet", 0, 30, 1);
  const ChanceInterval with = fit_shop(grid, bench_options(true)).glass("cruet").chance(at_dose(0));
  const ChanceInterval without = fit_shop(grid, bench_options(false)).glass("cruet").chance(at_dose(0));
  CHECK(with.chance == without.chance);
  CHECK(with.low == without.low);
}

TEST_CASE("a glass never graded is predicted from the others", "[surface]") {
  std::vector<Observation> shop;
  append(shop, grid_of("cruet", 0.1, 48, 1));
  append(shop, grid_of("flask", -0.1, 48, 2));
  append(shop, grid_of("jug", 0.0, 48, 3));
  const ShopSurface pooled = fit_shop(shop, bench_options(true));
  const ShopSurface separate = fit_shop(shop, bench_options(false));
  const double told = pooled.glass("new").chance(at_dose(0)).chance;
  const double untold = separate.glass("new").chance(at_dose(0)).chance;
  CHECK(told > untold + 0.15);
  CHECK(told < pooled.glass("jug").chance(at_dose(0)).chance);
  CHECK(pooled.glass("new").status() == FitStatus::no_data);
  CHECK_FALSE(pooled.has("new"));
}

TEST_CASE("a few swatches of a glass like the others go further", "[surface]") {
  std::vector<Observation> shop;
  append(shop, grid_of("cruet", 0.2, 48, 4));
  append(shop, grid_of("flask", -0.2, 48, 5));
  append(shop, grid_of("new", 0.1, 8, 6));
  const ChanceInterval with = fit_shop(shop, bench_options(true)).glass("new").chance(at_dose(0.1));
  const ChanceInterval without = fit_shop(shop, bench_options(false)).glass("new").chance(at_dose(0.1));
  CHECK(with.chance > without.chance);
  CHECK(with.high - with.low < without.high - without.low);
}

TEST_CASE("an odd glass refuses the shop's advice", "[surface]") {
  std::vector<Observation> shop;
  append(shop, grid_of("cruet", 0.1, 48, 7));
  append(shop, grid_of("flask", -0.1, 48, 8));
  std::vector<Observation> odd = grid_of("odd", 0, 40, 9);
  for (Observation& o : odd) o.frost = 5 - o.frost.lowest;  // worst where the others are best
  append(shop, odd);
  const ShopSurface pooled = fit_shop(shop, bench_options(true));
  const ShopSurface separate = fit_shop(shop, bench_options(false));
  CHECK(pooled_share(pooled.glass("odd"), Response::frost) <
        pooled_share(pooled.glass("odd"), Response::chipping));
  CHECK_THAT(pooled.glass("odd").chance(at_dose(0)).chance,
             WithinAbs(separate.glass("odd").chance(at_dose(0)).chance, 0.05));
  CHECK(pooled_share(pooled.glass("odd"), Response::chipping) > 0.7);  // there it is like the others
}

TEST_CASE("the order of rows makes no difference to pooling", "[surface]") {
  std::vector<Observation> shop;
  append(shop, grid_of("cruet", 0.2, 20, 4));
  append(shop, grid_of("flask", -0.2, 20, 5));
  const double forward = fit_shop(shop, bench_options(true)).glass("flask").chance(at_dose(0)).low;
  std::reverse(shop.begin(), shop.end());
  CHECK(fit_shop(shop, bench_options(true)).glass("flask").chance(at_dose(0)).low == forward);
}
