#include "choice/machine_settings.hpp"

#include "shop/burn_time.hpp"

namespace frostcal::choice {

shop::Setting MachineSettings::at(std::size_t power, std::size_t speed, std::size_t dpi_index,
                                  std::size_t tone) const {
  return {power_pct[power], speed_pct[speed], dpi[dpi_index], tone_pct[tone], screen, 1};
}

MachineSettings machine_settings(const shop::Machine& machine) {
  return {machine.power_pct.values(), machine.speed_pct.values(), machine.dpi, machine.tone_pct.values(),
          machine.screens.front()};
}

std::vector<std::size_t> log_spaced(const std::vector<double>& values, double ratio) {
  std::vector<std::size_t> picked{0};
  for (std::size_t i = 1; i < values.size(); ++i) {
    const bool next_too_far = i + 1 < values.size() && values[i + 1] > values[picked.back()] * ratio;
    if (next_too_far || i + 1 == values.size()) picked.push_back(i);
  }
  return picked;
}

std::vector<shop::Setting> accepted_settings(const shop::Machine& machine, const shop::Machine& allowed,
                                             double ratio, double tone_ratio) {
  const MachineSettings all = machine_settings(allowed);
  const std::vector<std::size_t> speeds = log_spaced(all.speed_pct, ratio);
  const std::vector<std::size_t> powers = log_spaced(all.power_pct, ratio);
  std::vector<shop::Setting> settings;
  for (const std::size_t t : log_spaced(all.tone_pct, tone_ratio)) {
    for (std::size_t d = 0; d < all.dpi.size(); ++d) {
      for (const std::size_t s : speeds) {
        for (const std::size_t p : powers) {
          const shop::Setting setting = all.at(p, s, d, t);
          if (shop::accepts(machine, setting)) settings.push_back(setting);
        }
      }
    }
  }
  return settings;
}

double seconds_per_cm2(const shop::Setting& setting, const shop::Machine& machine) {
  return shop::raster_time(40, 25, setting, machine).seconds / 10.0;
}

}  // namespace frostcal::choice
