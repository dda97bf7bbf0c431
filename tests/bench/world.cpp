#include "bench/world.hpp"

#include <algorithm>
#include <cmath>

#include "simulator/random_stream.hpp"

namespace frostcal::bench {
namespace {

double on_step(const shop::SteppedRange& range, double wished) {
  const double steps = std::round((std::clamp(wished, range.min, range.max) - range.min) / range.step);
  return range.min + steps * range.step;
}

}  // namespace

simulator::Grades World::burn(const shop::Setting& setting, const simulator::Occasion& occasion) const {
  return simulator::grade_swatch(glass, seed, simulator::exposure_of(machine, setting), occasion);
}

double World::chance(const shop::Setting& setting) const {
  return simulator::true_chance(glass, simulator::exposure_of(machine, setting), bar);
}

shop::Machine drawn_machine(std::uint64_t seed) {
  simulator::RandomStream random(seed, "machine");
  shop::Machine machine;
  machine.name = "bench";
  machine.rated_power_w = std::round(random.between(60, 110));
  machine.top_speed_mm_s = 1200;
  machine.spot_mm = std::round(random.between(8, 20)) / 100;
  machine.dpi = {200, 250, 300, 400, 500, 600};
  machine.power_pct = {5, 100, 1};
  machine.speed_pct = {5, 100, 1};
  machine.screens = {"stucki"};
  return machine;
}

World make_world(std::uint64_t glass_seed, const shop::Machine& machine, bool tight) {
  World world;
  world.seed = glass_seed;
  world.tight = tight;
  world.glass = simulator::draw_glass(glass_seed);
  if (tight) world.glass = simulator::tightened(world.glass);
  world.machine = machine;
  world.settings = simulator::all_settings(machine);
  world.best = simulator::best_setting(world.glass, machine, world.settings, world.bar);
  return world;
}

shop::Setting snapped(const shop::Machine& machine, double power_pct, double speed_pct, double dpi) {
  const auto nearer = [dpi](int a, int b) {
    return std::abs(std::log(a / dpi)) < std::abs(std::log(b / dpi));
  };
  shop::Setting setting;
  setting.power_pct = on_step(machine.power_pct, power_pct);
  setting.speed_pct = on_step(machine.speed_pct, speed_pct);
  setting.dpi = *std::min_element(machine.dpi.begin(), machine.dpi.end(), nearer);
  setting.screen = machine.screens.front();
  return setting;
}

}  // namespace frostcal::bench
