// The simulator must be right before anything is measured with it.
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "simulator/grading.hpp"
#include "simulator/heat_index.hpp"
#include "simulator/truth.hpp"

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using namespace frostcal;
using namespace frostcal::simulator;

namespace {

shop::Machine bench_machine() {
  shop::Machine machine;
  machine.name = "bench";
  machine.rated_power_w = 80;
  machine.top_speed_mm_s = 1200;
  machine.spot_mm = 0.12;
  machine.dpi = {250, 300, 400, 500};
  machine.power_pct = {5, 100, 5};
  machine.speed_pct = {5, 100, 5};
  machine.screens = {"stucki"};
  return machine;
}

}  // namespace

TEST_CASE("peak index follows the moving Gaussian source", "[simulator]") {
  // Peclet number and peak of theta by numerical integration of the moving Gaussian source (Cline & Anthony
  // 1977), recomputed; the blend is stated to be within 0.2 %.
  const std::array<std::array<double, 2>, 5> peaks{
      {{0.1, 0.9289515510}, {1, 0.6251077983}, {5, 0.3401481760}, {20, 0.1788333301}, {100, 0.0811658084}}};
  for (const auto& [peclet, theta] : peaks) CHECK_THAT(relative_peak(peclet), WithinRel(theta, 0.002));
  // 10 W, w = 80 um, at 300 mm/s: nominal peak 9568.9 K by the same integral (A 0.841, k 1 W/mK, D 0.5
  // mm2/s).
  CHECK_THAT(peak_index(10, 300, 0.080), WithinRel(9568.897, 0.003));
  // 20 W at 300 mm/s heats 109 um by 550 K.
  CHECK_THAT(heated_depth_mm(20, 300, 550), WithinRel(0.109, 0.01));
  CHECK_THAT(line_ripple(0.05, 0.0625), WithinRel(0.0850, 0.01));  // p/w = 1.25
}

TEST_CASE("truth agrees with counting simulated bottles", "[simulator]") {
  const shop::Machine machine = bench_machine();
  shop::Acceptance bar;
  for (const std::uint64_t seed : {2, 7, 9}) {
    HiddenGlass glass = draw_glass(seed);
    glass.slip = 0;
    const auto best = best_setting(glass, machine, all_settings(machine), bar);
    shop::Setting weaker = best.setting;
    weaker.power_pct = std::max(5.0, weaker.power_pct - 10);
    for (const shop::Setting& setting : {best.setting, weaker}) {
      const Exposure exposure = exposure_of(machine, setting);
      const int bottles = 20000;
      int good = 0;
      for (int i = 0; i < bottles; ++i) {
        const std::string name = std::to_string(i);
        const Grades grades = grade_swatch(glass, 5, exposure, {name, name, "A1", 0});
        good += grades.frost >= bar.frost && grades.chipping <= bar.chipping;
      }
      const double truth = true_chance(glass, exposure, bar);
      // Five binomial standard errors, and 0.002 for the sine of the run-out, which the truth takes as
      // normal.
      const double error = 5 * std::sqrt(truth * (1 - truth) / bottles) + 0.002;
      CHECK_THAT(good / static_cast<double>(bottles), WithinAbs(truth, error));
    }
  }
}

TEST_CASE("grades repeat for a seed and differ between seeds", "[simulator]") {
  const HiddenGlass glass = draw_glass(3);
  const Exposure exposure = exposure_of(bench_machine(), {40, 40, 400, 100, "stucki", 1});
  std::set<int> seen;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    const Grades once = grade_swatch(glass, seed, exposure, {"0001-jug", "jug-1", "A1", 0.2});
    const Grades again = grade_swatch(glass, seed, exposure, {"0001-jug", "jug-1", "A1", 0.2});
    CHECK(once.frost == again.frost);
    CHECK(once.chipping == again.chipping);
    seen.insert(once.frost * 4 + once.chipping);
  }
  CHECK(seen.size() > 1);
}

TEST_CASE("a bottle keeps its nature through all grids", "[simulator]") {
  HiddenGlass glass = draw_glass(7);  // uneven bottles
  glass.bottle_gain = 0;
  glass.day_gain = 0;
  glass.frost_noise = 0;
  glass.chipping_noise = 0;
  glass.slip = 0;
  glass.run_out = 0;
  glass.bottle_frost = 1.0;
  const Exposure exposure = exposure_of(bench_machine(), {45, 40, 300, 100, "stucki", 1});
  std::set<int> between;
  for (int i = 0; i < 12; ++i) {
    const std::string bottle = "jug-" + std::to_string(i);
    const Grades first = grade_swatch(glass, 1, exposure, {"0001-jug", bottle, "A1", 0});
    const Grades later = grade_swatch(glass, 1, exposure, {"0002-jug", bottle, "B5", 0});
    CHECK(first.frost == later.frost);
    between.insert(first.frost);
  }
  CHECK(between.size() > 1);
}

TEST_CASE("most hidden glasses can be frosted well, and every kind occurs", "[simulator]") {
  const shop::Machine machine = bench_machine();
  const auto settings = all_settings(machine);
  std::set<Kind> kinds;
  int reachable = 0;
  for (std::uint64_t seed = 1; seed <= 24; ++seed) {
    const HiddenGlass glass = draw_glass(seed);
    kinds.insert(glass.kind);
    reachable += best_setting(glass, machine, settings, shop::Acceptance{}).chance > 0.6;
  }
  CHECK(kinds.size() == kKinds);
  CHECK(reachable >= 18);
}

TEST_CASE("frost has an interior optimum and chipping only grows with power", "[simulator]") {
  const shop::Machine machine = bench_machine();
  for (std::uint64_t seed = 1; seed <= 16; ++seed) {
    const HiddenGlass glass = draw_glass(seed);
    double last = -10;
    double peak = -10;
    double at_full = 0;
    for (int power = 5; power <= 100; power += 5) {
      const Look look = mean_look(glass, exposure_of(machine, {double(power), 10, 400, 100, "stucki", 1}));
      CHECK(look.chipping >= last);
      last = look.chipping;
      peak = std::max(peak, look.frost);
      at_full = look.frost;
    }
    CHECK(at_full < peak);
  }
}
