#include "simulator/truth.hpp"

#include <array>
#include <cmath>

#include "numerics/normal_tail.hpp"

namespace frostcal::simulator {
namespace {

constexpr int kNodes = 17;
constexpr int kMiddle = kNodes / 2;
constexpr double kNodeStep = 0.5;  // sd

struct Node {
  double z = 0;
  double weight = 0;
};

std::array<Node, kNodes> normal_nodes() {
  std::array<Node, kNodes> nodes;
  double total = 0;
  for (int i = 0; i < kNodes; ++i) {
    const double z = kNodeStep * (i - kMiddle);
    nodes[i] = {z, std::exp(-0.5 * z * z)};
    total += nodes[i].weight;
  }
  for (Node& node : nodes) node.weight /= total;
  return nodes;
}

double chance_at(const HiddenGlass& glass, const Exposure& exposure, const shop::Acceptance& bar) {
  const Look look = mean_look(glass, exposure);
  double chance = 1;
  if (bar.frost >= 1) {
    const double spread = std::hypot(glass.frost_noise, glass.bottle_frost);
    chance *= numerics::normal_cdf((look.frost - glass.frost_cuts[static_cast<std::size_t>(bar.frost - 1)]) /
                                   spread);
  }
  if (bar.chipping <= 2) {
    const double spread = std::hypot(glass.chipping_noise, glass.bottle_chipping);
    chance *= numerics::normal_cdf(
        (glass.chipping_cuts[static_cast<std::size_t>(bar.chipping)] - look.chipping) / spread);
  }
  return chance;
}

}  // namespace

Exposure exposure_of(const shop::Machine& machine, const shop::Setting& setting, double pitch_scale) {
  Exposure exposure;
  exposure.power_w = machine.delivered_power_w(setting.power_pct);
  exposure.speed_mm_s = machine.scan_speed_mm_s(setting.speed_pct);
  exposure.pitch_mm = shop::pitch_mm(setting.dpi) * pitch_scale;
  exposure.spot_mm = machine.spot_mm;
  exposure.tone = setting.tone_pct / 100.0;
  exposure.passes = setting.passes;
  return exposure;
}

double true_chance(const HiddenGlass& glass, const Exposure& exposure, const shop::Acceptance& bar) {
  static const std::array<Node, kNodes> nodes = normal_nodes();
  const double run_out = glass.run_out / std::sqrt(2.0);  // sd of a sine
  const double spread = std::hypot(glass.bottle_gain, glass.day_gain, run_out);
  double chance = 0;
  for (const Node& node : nodes) {
    Exposure felt = exposure;
    felt.power_w *= std::exp(spread * node.z);
    chance += node.weight * chance_at(glass, felt, bar);
  }
  return chance;
}

std::vector<shop::Setting> all_settings(const shop::Machine& machine) {
  std::vector<shop::Setting> settings;
  for (const int dpi : machine.dpi) {
    for (const double tone : machine.tone_pct.values()) {
      for (const double speed : machine.speed_pct.values()) {
        for (const double power : machine.power_pct.values()) {
          const shop::Setting setting{power, speed, dpi, tone, machine.screens.front(), 1};
          if (shop::accepts(machine, setting)) settings.push_back(setting);
        }
      }
    }
  }
  return settings;
}

BestSetting best_setting(const HiddenGlass& glass, const shop::Machine& machine,
                         const std::vector<shop::Setting>& settings, const shop::Acceptance& bar) {
  BestSetting best;
  for (const shop::Setting& setting : settings) {
    const double chance = true_chance(glass, exposure_of(machine, setting), bar);
    if (chance > best.chance) best = {setting, chance};
  }
  return best;
}

}  // namespace frostcal::simulator
