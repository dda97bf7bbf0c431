#include "surface/shop_surface.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/random_engine.hpp"

using Catch::Matchers::WithinAbs;
using namespace frostcal::surface;

namespace {

FitOptions bench_options() {
  FitOptions options;
  options.centre = {25.0, 380.0, 25.4 / 350};
  return options;
}

/// A made-up glass: frost best at one dose, chipping rising with dose.
Observation swatch(int i, double power_w, double speed_mm_s, int dpi) {
  Observation o;
  o.glass = "amber-jug";
  o.bottle = i % 2 ? "amber-jug-1" : "amber-jug-2";
  o.burn = "0001 burn " + std::to_string(dpi);
  o.grader = "Wen";
  o.swatch = "0001 A" + std::to_string(i);
  o.setting = {power_w, speed_mm_s, 25.4 / dpi, 1, 1};
  const Coordinates u = coordinates(o.setting, bench_options().centre);
  o.frost =
      static_cast<int>(std::lround(std::fmax(0, std::fmin(5, 5 - 1.2 * u(0) * u(0) - 0.3 * u(1) * u(1)))));
  o.chipping = static_cast<int>(std::lround(std::fmax(0, std::fmin(3, 1.5 * (u(0) - 0.6)))));
  return o;
}

std::vector<Observation> made_up_grid(int n) {
  frostcal::numerics::RandomEngine random(11);
  const int dpi[] = {250, 300, 400};
  std::vector<Observation> grid;
  for (int i = 0; i < n; ++i) {
    grid.push_back(swatch(i, std::exp(std::log(5.0) + random.uniform() * 2.7),
                          std::exp(std::log(90.0) + random.uniform() * 2.5), dpi[i % 3]));
  }
  return grid;
}

bool finite_and_ordered(const ChanceInterval& c) {
  return std::isfinite(c.chance) && c.low >= 0 && c.low <= c.high && c.high <= 1 && c.chance > 0 &&
         c.chance < 1;
}

const PhysicalSetting kMiddle{25, 380, 25.4 / 350, 1, 1};

}  // namespace

TEST_CASE("a clear optimum is found and a hopeless setting is told from it", "[surface]") {
  const ShopSurface shop = fit_shop(made_up_grid(40), bench_options());
  CHECK(shop.status() == FitStatus::converged);
  const GlassSurface& glass = shop.glass("amber-jug");
  const ChanceInterval good = glass.chance(kMiddle);
  const ChanceInterval scorched = glass.chance(PhysicalSetting{80, 60, 25.4 / 500, 1, 1});
  const ChanceInterval faint = glass.chance(PhysicalSetting{4, 1200, 25.4 / 250, 1, 1});
  CHECK(good.chance > 0.8);
  CHECK(scorched.chance < 0.1);
  CHECK(faint.chance < 0.1);
  CHECK(finite_and_ordered(good));
}

TEST_CASE("grade probabilities sum to one and agree with the chance of either response", "[surface]") {
  const ShopSurface shop = fit_shop(made_up_grid(30), bench_options());
  const GlassSurface& glass = shop.glass("amber-jug");
  const GradeProbabilities p = glass.grade_probabilities(kMiddle);
  const ChanceParts parts = glass.chance_parts(kMiddle);
  double frost = 0;
  for (const double x : p.frost) frost += x;
  double chipping = 0;
  for (const double x : p.chipping) chipping += x;
  CHECK_THAT(frost, WithinAbs(1, 1e-9));
  CHECK_THAT(chipping, WithinAbs(1, 1e-9));
  CHECK_THAT(p.frost[4] + p.frost[5], WithinAbs(parts.frost, 1e-9));
  CHECK_THAT(p.chipping[0], WithinAbs(parts.chipping, 1e-9));
  CHECK_THAT(glass.mean_chance({kMiddle})(0), WithinAbs(parts.frost * parts.chipping, 1e-12));
}

TEST_CASE("the mean over posterior draws agrees with the closed form", "[surface]") {
  FitOptions options = bench_options();
  options.draws = 4000;
  const ShopSurface shop = fit_shop(made_up_grid(24), options);
  const GlassSurface& glass = shop.glass("amber-jug");
  const std::vector<PhysicalSetting> at{kMiddle, {30, 300, 25.4 / 300, 1, 1}, {15, 500, 25.4 / 400, 1, 1}};
  const Eigen::VectorXd mean = glass.mean_chance(at);
  const Eigen::MatrixXd drawn = glass.drawn_chance(at);
  for (int i = 0; i < 3; ++i) {
    const double sd = std::sqrt((drawn.row(i).array() - drawn.row(i).mean()).square().mean());
    CHECK_THAT(drawn.row(i).mean(), WithinAbs(mean(i), 4.5 * sd / std::sqrt(4000.0)));
  }
  CHECK((glass.drawn_chance(at, 100, 50) - drawn.middleCols(100, 50)).cwiseAbs().maxCoeff() < 1e-12);
}

// A bottle with a faint end and a chipped one is good only where neither is so.
TEST_CASE("of several places each response counts by its worst", "[surface][taper]") {
  FitOptions options = bench_options();
  options.draws = 4000;
  const GlassSurface glass = fit_shop(made_up_grid(24), options).glass("amber-jug");
  const PhysicalSetting faint{12, 380, 25.4 / 350, 1, 1};
  const PhysicalSetting hot{34, 380, 25.4 / 350, 1, 1};
  const std::vector<PhysicalSetting> ends{kMiddle, faint, hot};
  const ChanceParts at_faint = glass.chance_parts(faint);
  const ChanceParts at_hot = glass.chance_parts(hot);
  REQUIRE(at_faint.frost < at_hot.frost);
  REQUIRE(at_hot.chipping < at_faint.chipping);
  const ChanceInterval all = glass.chance_of_all(ends);
  CHECK_THAT(all.chance, WithinAbs(at_faint.frost * at_hot.chipping, 1e-12));
  CHECK(glass.mean_chance_of_all(ends) == all.chance);
  CHECK(all.chance < std::min(glass.chance(faint).chance, glass.chance(hot).chance));
  CHECK(finite_and_ordered(all));
  const ChanceInterval alone = glass.chance(faint);
  const ChanceInterval one = glass.chance_of_all({faint});
  CHECK(one.chance == alone.chance);
  CHECK_THAT(one.low, WithinAbs(alone.low, 1e-12));
  CHECK_THAT(one.high, WithinAbs(alone.high, 1e-12));

  const Eigen::VectorXd drawn = glass.drawn_chance_of_all(ends);
  const Eigen::MatrixXd each = glass.drawn_chance(ends);
  CHECK((drawn.transpose().array() <= each.colwise().minCoeff().array() + 1e-12).all());
  // The worst place is not the same on every drawn surface, so the mean over them is a little lower.
  CHECK(drawn.mean() < all.chance + 0.01);
  CHECK(drawn.mean() > all.chance - 0.05);
  CHECK((glass.drawn_chance_of_all({faint}) - each.row(1).transpose()).cwiseAbs().maxCoeff() < 1e-12);
  const Eigen::MatrixXd batch = glass.drawn_batch_chance({{faint}, ends, {hot}});
  CHECK((batch.row(1).array() <= batch.row(0).array().min(batch.row(2).array()) + 1e-12).all());
}

TEST_CASE("the order of rows makes no difference, nor does a weight for repeats", "[surface]") {
  std::vector<Observation> grid = made_up_grid(20);
  const double forward = fit_shop(grid, bench_options()).glass("amber-jug").chance(kMiddle).low;
  std::reverse(grid.begin(), grid.end());
  CHECK(fit_shop(grid, bench_options()).glass("amber-jug").chance(kMiddle).low == forward);

  std::vector<Observation> twice = grid;
  twice.push_back(grid[3]);
  twice.push_back(grid[3]);
  std::vector<Observation> weighted = grid;
  weighted[3].weight = 3;
  CHECK(fit_shop(twice, bench_options()).glass("amber-jug").chance(kMiddle).low ==
        fit_shop(weighted, bench_options()).glass("amber-jug").chance(kMiddle).low);
}

TEST_CASE("bad data get an answer", "[surface]") {
  std::vector<Observation> grid = made_up_grid(24);
  SECTION("nothing at all") {
    grid.clear();
  }
  SECTION("one swatch") {
    grid.resize(1);
  }
  SECTION("all grades equal") {
    for (Observation& o : grid) o.frost = o.chipping = 0;
  }
  SECTION("all at the top") {
    for (Observation& o : grid) {
      o.frost = 5;
      o.chipping = 3;
    }
  }
  SECTION("one setting only") {
    for (Observation& o : grid) o.setting = kMiddle;
  }
  SECTION("settings on a line") {
    for (std::size_t i = 0; i < grid.size(); ++i) {
      grid[i].setting = {10.0 + static_cast<double>(i), 300, 25.4 / 300, 1, 1};
    }
  }
  SECTION("a million repeats of one swatch") {
    grid[0].weight = 1e6;
  }
  SECTION("a million repeats of grades that contradict") {
    for (Observation& o : grid) {
      o.setting = kMiddle;
      o.weight = 1e6;
    }
    for (std::size_t i = 0; i < grid.size(); ++i) grid[i].frost = i % 2 ? 5 : 0;
  }
  SECTION("grades that alternate") {
    for (std::size_t i = 0; i < grid.size(); ++i) grid[i].frost = i % 2 ? 5 : 0;
  }
  SECTION("no chipping column") {
    for (Observation& o : grid) o.chipping = kNotGraded;
  }
  SECTION("no frost column") {
    for (Observation& o : grid) o.frost = kNotGraded;
  }
  SECTION("weights that don't count") {
    for (Observation& o : grid) o.weight = 0;
  }
  const ShopSurface shop = fit_shop(grid, bench_options());
  const bool expect_data = !grid.empty() && grid[0].weight > 0;
  CHECK(shop.status() == (expect_data ? FitStatus::converged : FitStatus::no_data));
  CHECK(shop.has("amber-jug") == expect_data);
  const GlassSurface& glass = shop.glass("amber-jug");
  CHECK(finite_and_ordered(glass.chance(kMiddle)));
  CHECK(finite_and_ordered(glass.chance(PhysicalSetting{75, 70, 25.4 / 600, 0.4, 3})));
}

TEST_CASE("grades drawn blindly are fitted", "[surface]") {
  // Such grades cross the cutpoints of a row's cavity in expectation propagation.
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    frostcal::numerics::RandomEngine random(seed);
    std::vector<Observation> grid = made_up_grid(60);
    for (Observation& o : grid) {
      o.frost = static_cast<int>(random.below(6));
      o.chipping = static_cast<int>(random.below(4));
    }
    const ShopSurface shop = fit_shop(grid, bench_options());
    CHECK(shop.status() == FitStatus::converged);
    CHECK(finite_and_ordered(shop.glass("amber-jug").chance(kMiddle)));
  }
}

TEST_CASE("bars that accept everything or demand the most", "[surface]") {
  FitOptions options = bench_options();
  options.bar = {0, 3};
  CHECK(fit_shop(made_up_grid(20), options).glass("amber-jug").chance(kMiddle).low == 1);
  options.bar = {5, 0};
  const double strict = fit_shop(made_up_grid(20), options).glass("amber-jug").chance(kMiddle).chance;
  options.bar = {3, 1};
  CHECK(strict < fit_shop(made_up_grid(20), options).glass("amber-jug").chance(kMiddle).chance);
}

TEST_CASE("the interval is that of many draws, and no matter of luck", "[surface]") {
  FitOptions options = bench_options();
  options.draws = 20000;
  const GlassSurface glass = fit_shop(made_up_grid(14), options).glass("amber-jug");
  std::vector<PhysicalSetting> settings{kMiddle};
  for (const double power : {14.0, 18.0, 22.0, 28.0, 35.0})
    settings.push_back({power, 400, 25.4 / 300, 1, 1});
  const std::vector<ChanceInterval> told = glass.chance(settings);
  const Eigen::MatrixXd drawn = glass.drawn_chance(settings);
  int compared = 0;
  for (std::size_t i = 0; i < settings.size(); ++i) {
    const Eigen::ArrayXd row = drawn.row(static_cast<Eigen::Index>(i));
    // Four sd of 20,000 draws, and what so few points leave.
    if (told[i].low > 1e-4 && told[i].low < told[i].chance) {
      CHECK_THAT((row < told[i].low).cast<double>().mean(), WithinAbs(0.05, 0.008));
      ++compared;
    }
    if (told[i].high < 1 - 1e-4 && told[i].high > told[i].chance) {
      CHECK_THAT((row > told[i].high).cast<double>().mean(), WithinAbs(0.05, 0.008));
      ++compared;
    }
  }
  CHECK(compared >= 5);
  options.draws = 200;
  const ChanceInterval other = fit_shop(made_up_grid(14), options).glass("amber-jug").chance(settings[3]);
  CHECK(other.low == told[3].low);
  CHECK(other.high == told[3].high);
}

TEST_CASE("the quick scan stays close to the exact chance", "[surface]") {
  const ShopSurface shop = fit_shop(made_up_grid(36), bench_options());
  const GlassSurface& glass = shop.glass("amber-jug");
  std::vector<PhysicalSetting> lattice;
  for (int p = 2; p <= 80; ++p) {
    for (int s = 1; s <= 40; ++s) lattice.push_back({double(p), s * 30.0, 25.4 / 300, 1, 1});
  }
  const Eigen::VectorXd exact = glass.mean_chance(lattice);
  const Eigen::VectorXd quick = glass.scan_chance(lattice);
  CHECK_THAT((exact - quick).cwiseAbs().maxCoeff(), WithinAbs(0, 0.002));
  CHECK(exact.maxCoeff() > 0.5);
}

TEST_CASE("the logit link gives a like answer", "[surface]") {
  FitOptions options = bench_options();
  options.link = Link::logit;
  const GlassSurface glass = fit_shop(made_up_grid(40), options).glass("amber-jug");
  CHECK(glass.chance(kMiddle).chance > 0.6);
  CHECK(glass.chance(PhysicalSetting{4, 1200, 25.4 / 250, 1, 1}).chance < 0.2);
}
