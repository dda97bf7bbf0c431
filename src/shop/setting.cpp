#include "shop/setting.hpp"

#include <algorithm>
#include <cmath>

#include "textfile/number_text.hpp"

namespace frostcal::shop {

const std::vector<std::string>& drawn_screens() {
  static const std::vector<std::string> names{"floyd-steinberg", "jarvis-judice-ninke", "stucki", "bayer"};
  return names;
}

bool same_setting(const Setting& a, const Setting& b) {
  const auto same = [](double one, double other) { return std::abs(one - other) <= kSameDial; };
  return same(a.power_pct, b.power_pct) && same(a.speed_pct, b.speed_pct) && a.dpi == b.dpi &&
         same(a.tone_pct, b.tone_pct) && a.screen == b.screen && a.passes == b.passes;
}

Recipe recipe_of(const Setting& setting) {
  return {setting.power_pct, setting.speed_pct, setting.passes};
}

double dose_j_mm2(const Setting& setting, const Machine& machine) {
  return setting.passes * machine.delivered_power_w(setting.power_pct) * setting.tone_pct / 100.0 /
         (machine.scan_speed_mm_s(setting.speed_pct) * pitch_mm(setting.dpi));
}

bool within_dose_limit(const Machine& machine, const Setting& setting) {
  return machine.dose_limit_j_mm2 <= 0 ||
         dose_j_mm2(setting, machine) <= machine.dose_limit_j_mm2 * (1 + 1e-9);
}

bool accepts(const Machine& machine, const Setting& setting) {
  const bool dials =
      machine.power_pct.accepts(setting.power_pct) && machine.speed_pct.accepts(setting.speed_pct) &&
      machine.tone_pct.accepts(setting.tone_pct) && setting.passes >= 1 &&
      std::find(machine.dpi.begin(), machine.dpi.end(), setting.dpi) != machine.dpi.end() &&
      std::find(machine.screens.begin(), machine.screens.end(), setting.screen) != machine.screens.end();
  return dials && within_dose_limit(machine, setting);
}

std::string dial_text(double percent) {
  std::string text = textfile::format_fixed(percent, 4);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

std::string to_text(const Setting& setting) {
  std::string text = dial_text(setting.power_pct) + " % power, " + dial_text(setting.speed_pct) +
                     " % speed, " + std::to_string(setting.dpi) + " dpi";
  if (setting.tone_pct != 100)
    text += ", " + dial_text(setting.tone_pct) + " % tone (" + setting.screen + ")";
  if (setting.passes != 1) text += ", " + std::to_string(setting.passes) + " passes";
  return text;
}

}  // namespace frostcal::shop
