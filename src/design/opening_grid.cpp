#include "design/opening_grid.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "errors/bug.hpp"
#include "numerics/sobol.hpp"

namespace frostcal::design {

namespace {

// The values nearest, in logs, to the middles of `count` equal parts of the whole: 250, 300 and 500 of 200 to
// 600.
std::vector<int> pick_dpi(const std::vector<int>& dpi, int count) {
  count = std::min(count, static_cast<int>(dpi.size()));
  std::vector<int> left = dpi;
  std::vector<int> picked;
  for (int i = 0; i < count; ++i) {
    const double at =
        std::log(dpi.front()) + (i + 0.5) / count * std::log(static_cast<double>(dpi.back()) / dpi.front());
    const auto nearest = std::min_element(left.begin(), left.end(), [at](int a, int b) {
      return std::abs(std::log(a) - at) < std::abs(std::log(b) - at);
    });
    picked.push_back(*nearest);
    left.erase(nearest);
  }
  return picked;
}

double along_log(double low, double high, double inner, double u) {
  const double middle = 0.5 * (std::log(low) + std::log(high));
  return std::exp(middle + inner * (u - 0.5) * (std::log(high) - std::log(low)));
}

std::array<double, 3> position(const shop::Setting& setting, const shop::Machine& machine) {
  const double power = std::log(machine.delivered_power_w(setting.power_pct));
  const double speed = std::log(machine.scan_speed_mm_s(setting.speed_pct));
  const double dose = std::log(shop::dose_j_mm2(setting, machine));
  return {dose / 0.7, 0.7 * (power - 0.5 * speed) / 0.7, 0.55 * std::log(shop::pitch_mm(setting.dpi)) / 0.5};
}

double smallest_distance(const std::vector<shop::Setting>& settings, const shop::Machine& machine) {
  std::vector<std::array<double, 3>> places;
  for (const shop::Setting& setting : settings) places.push_back(position(setting, machine));
  double smallest = 1e300;
  for (std::size_t i = 0; i < places.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      double square = 0;
      for (std::size_t k = 0; k < 3; ++k)
        square += (places[i][k] - places[j][k]) * (places[i][k] - places[j][k]);
      smallest = std::min(smallest, square);
    }
  }
  return smallest;
}

/// The most and best spread of the sets; `drawn` points are looked at for each.
std::vector<shop::Setting> best_set(const shop::Machine& machine, const shop::Machine& allowed,
                                    const std::vector<int>& dpi, const SpreadOptions& options, int drawn,
                                    bool repeats) {
  const bool tone_varies = allowed.tone_pct.values().size() > 1;
  std::vector<shop::Setting> best;
  double best_distance = -1;
  for (int set = 0; set < options.sets; ++set) {
    const Eigen::MatrixXd points = numerics::sobol_points(
        drawn, tone_varies ? 3 : 2, options.seed * 1000 + static_cast<std::uint64_t>(set));
    std::vector<shop::Setting> settings;
    for (int i = 0; i < drawn && static_cast<int>(settings.size()) < options.swatches; ++i) {
      shop::Setting setting;
      setting.power_pct = allowed.power_pct.nearest(
          along_log(allowed.power_pct.min, allowed.power_pct.max, options.inner, points(i, 0)));
      setting.speed_pct = allowed.speed_pct.nearest(
          along_log(allowed.speed_pct.min, allowed.speed_pct.max, options.inner, points(i, 1)));
      setting.tone_pct = tone_varies ? allowed.tone_pct.nearest(along_log(
                                           allowed.tone_pct.min, allowed.tone_pct.max, 1.0, points(i, 2)))
                                     : allowed.tone_pct.max;
      setting.dpi = dpi[settings.size() % dpi.size()];
      setting.screen = allowed.screens.front();
      if (!shop::accepts(machine, setting)) continue;
      if (repeats || shop::find_setting(settings.begin(), settings.end(), setting) == settings.end())
        settings.push_back(setting);
    }
    const double distance = smallest_distance(settings, machine);
    if (settings.size() > best.size() || (settings.size() == best.size() && distance > best_distance)) {
      best_distance = distance;
      best = settings;
    }
  }
  return best;
}

}  // namespace

std::vector<shop::Setting> spread_settings(const shop::Machine& machine, const shop::Machine& allowed,
                                           const SpreadOptions& options) {
  FROSTCAL_ASSERT(options.swatches > 0 && options.dpi_values > 0 && options.sets > 0,
                  "a grid needs swatches");
  std::vector<int> dpi = pick_dpi(allowed.dpi, options.dpi_values);
  if (machine.dose_limit_j_mm2 <= 0) return best_set(machine, allowed, dpi, options, options.swatches, true);
  std::vector<shop::Setting> best = best_set(machine, allowed, dpi, options, 4 * options.swatches, true);
  // A low limit leaves a corner of the ranges, most of it at coarse dpi.
  SpreadOptions corner = options;
  corner.inner = 1;
  corner.sets = std::min(options.sets, 4);
  std::sort(dpi.begin(), dpi.end());
  while (static_cast<int>(best.size()) < options.swatches && !dpi.empty()) {
    for (const int drawn : {64 * options.swatches, 512 * options.swatches}) {
      const std::vector<shop::Setting> found = best_set(machine, allowed, dpi, corner, drawn, false);
      if (found.size() > best.size()) best = found;
      if (static_cast<int>(best.size()) >= options.swatches) break;
    }
    if (dpi.size() == 1 && dpi[0] != allowed.dpi.front())
      dpi = {allowed.dpi.front()};
    else
      dpi.pop_back();
  }
  return best;
}

std::vector<shop::Setting> lattice_settings(const shop::Machine& machine, const shop::Machine& allowed,
                                            int power_levels, int speed_levels) {
  FROSTCAL_ASSERT(power_levels > 0 && speed_levels > 0, "a lattice needs levels");
  const auto levels = [](const shop::SteppedRange& dial, int count) {
    std::vector<double> values;
    for (int i = 0; i < count; ++i) {
      const double part = count == 1 ? 0.5 : static_cast<double>(i) / (count - 1);
      const double value = dial.nearest(dial.min + part * (dial.max - dial.min));
      if (values.empty() || values.back() != value) values.push_back(value);
    }
    return values;
  };
  std::vector<shop::Setting> settings;
  for (const int dpi : allowed.dpi) {
    for (const double power : levels(allowed.power_pct, power_levels)) {
      for (const double speed : levels(allowed.speed_pct, speed_levels)) {
        const shop::Setting setting{power, speed, dpi, allowed.tone_pct.max, allowed.screens.front(), 1};
        if (shop::accepts(machine, setting)) settings.push_back(setting);
      }
    }
  }
  return settings;
}

}  // namespace frostcal::design
