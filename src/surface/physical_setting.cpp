#include "surface/physical_setting.hpp"

#include <cmath>

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

CoordinateCentre shop_centre(const shop::Shop& shop) {
  const shop::Machine& machine = shop.machines.front();
  const auto middle = [](double low, double high) { return std::sqrt(low * high); };
  return {
      middle(machine.delivered_power_w(machine.power_pct.min),
             machine.delivered_power_w(machine.power_pct.max)),
      middle(machine.scan_speed_mm_s(machine.speed_pct.min), machine.scan_speed_mm_s(machine.speed_pct.max)),
      middle(shop::pitch_mm(machine.dpi.front()), shop::pitch_mm(machine.dpi.back()))};
}

}  // namespace frostcal::surface
