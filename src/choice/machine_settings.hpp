// Every setting that a machine accepts, as a lattice that can be walked coarsely or in full.
#pragma once

#include <vector>

#include "shop/machine.hpp"
#include "shop/setting.hpp"

namespace frostcal::choice {

/// power x speed x dpi x tone, each ascending; the machine's first screen and one pass.
struct MachineSettings {
  std::vector<double> power_pct;
  std::vector<double> speed_pct;
  std::vector<int> dpi;
  std::vector<double> tone_pct;
  std::string screen;

  std::size_t size() const { return power_pct.size() * speed_pct.size() * dpi.size() * tone_pct.size(); }
  shop::Setting at(std::size_t power, std::size_t speed, std::size_t dpi_index, std::size_t tone) const;
};

MachineSettings machine_settings(const shop::Machine& machine);

/// Indices into `values` (ascending, positive), first and last included, so that neighbours differ by a
/// factor of about `ratio` or by one step where steps are wider.
std::vector<std::size_t> log_spaced(const std::vector<double>& values, double ratio);

/// Settings of `allowed` that `machine` accepts, neighbouring powers or speeds a factor of about `ratio`
/// apart, tones `tone_ratio`; 1 leaves nothing out.
std::vector<shop::Setting> accepted_settings(const shop::Machine& machine, const shop::Machine& allowed,
                                             double ratio, double tone_ratio);

/// Seconds per cm2 of a mark 40 mm along the axis and 25 mm round the bottle, turnarounds included.
double seconds_per_cm2(const shop::Setting& setting, const shop::Machine& machine);

}  // namespace frostcal::choice
