#include "surface/physical_setting.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>

namespace frostcal::surface {

PhysicalSetting physical_setting(const shop::Setting& setting, const shop::Machine& machine,
                                 const shop::Vessel& vessel, double x_mm) {
  PhysicalSetting physical = physical_setting(setting, machine);
  physical.pitch_mm *= vessel.diameter_mm(x_mm) / vessel.diameter_mm(0);
  return physical;
}

PhysicalSetting physical_setting(const shop::Setting& setting, const shop::Machine& machine) {
  return {machine.delivered_power_w(setting.power_pct), machine.scan_speed_mm_s(setting.speed_pct),
          shop::pitch_mm(setting.dpi), setting.tone_pct / 100.0, setting.passes};
}

std::string surface_name(const std::string& glass, const std::string& machine) {
  return glass + '@' + machine;
}

CoordinateCentre shop_centre(const shop::Shop& shop, const std::vector<Observation>& observations) {
  std::map<std::string, int> seen;  // by machine
  for (const Observation& o : observations) ++seen[o.glass.substr(o.glass.find('@') + 1)];
  const shop::Machine& machine =
      *std::max_element(shop.machines.begin(), shop.machines.end(),
                        [&](const auto& a, const auto& b) { return seen[a.name] < seen[b.name]; });
  const double power_low = machine.delivered_power_w(machine.power_pct.min);
  const double power_high = machine.delivered_power_w(machine.power_pct.max);
  const double speed_low = machine.scan_speed_mm_s(machine.speed_pct.min);
  const double speed_high = machine.scan_speed_mm_s(machine.speed_pct.max);
  const double pitch_high = shop::pitch_mm(machine.dpi.front());
  const double pitch_low = shop::pitch_mm(machine.dpi.back());
  const auto half = [](double low, double high) { return std::max(0.1, 0.5 * std::log(high / low)); };
  CoordinateCentre centre;
  centre.power_w = std::sqrt(power_low * power_high);
  centre.speed_mm_s = std::sqrt(speed_low * speed_high);
  centre.pitch_mm = std::sqrt(pitch_low * pitch_high);
  centre.log_half_power = half(power_low, power_high);
  centre.log_half_speed = half(speed_low, speed_high);
  centre.log_half_pitch = half(pitch_low, pitch_high);
  return centre;
}

FitOptions shop_fit_options(const shop::Shop& shop, const std::vector<Observation>& observations) {
  FitOptions options;
  options.bar = {shop.acceptance.frost, shop.acceptance.chipping};
  options.centre = shop_centre(shop, observations);
  for (const shop::Machine& machine : shop.machines) options.spot_mm[machine.name] = machine.spot_mm;
  return options;
}

ShopSurface fit_shop(const shop::Shop& shop, const std::vector<Observation>& observations) {
  return fit_shop(observations, shop_fit_options(shop, observations));
}

}  // namespace frostcal::surface
