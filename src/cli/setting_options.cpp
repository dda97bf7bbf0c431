#include "cli/setting_options.hpp"

#include <algorithm>

namespace frostcal::cli {

std::vector<OptionText> setting_option_rows() {
  return {{"power", "PERCENT", "power of the setting", false},
          {"speed", "PERCENT", "speed of the setting", false},
          {"dpi", "N", "dpi of the setting", false},
          {"tone", "PERCENT", "tone of the setting", false},
          {"screen", "NAME", "screen of the setting", false},
          {"passes", "N", "passes of the setting", false}};
}

std::optional<shop::Setting> setting_from_options(const Arguments& arguments, const shop::Machine& machine,
                                                  const std::optional<shop::Setting>& base) {
  const std::vector<OptionText> rows = setting_option_rows();
  const bool any =
      std::any_of(rows.begin(), rows.end(), [&](const OptionText& row) { return arguments.has(row.name); });
  if (!any) return std::nullopt;
  shop::Setting setting =
      base.value_or(shop::Setting{0, 0, 0, machine.tone_pct.max, machine.screens.front(), 1});
  setting.power_pct = arguments.number("power", 0.01, 100, setting.power_pct);
  setting.speed_pct = arguments.number("speed", 0.01, 100, setting.speed_pct);
  setting.dpi = static_cast<int>(arguments.integer("dpi", 1, 10000, setting.dpi));
  setting.tone_pct = arguments.number("tone", 0.01, 100, setting.tone_pct);
  setting.screen = arguments.text("screen", setting.screen);
  setting.passes = static_cast<int>(arguments.integer("passes", 1, 100, setting.passes));
  for (const char* needed : {"power", "speed", "dpi"}) {
    if (base || arguments.has(needed)) continue;
    throw UsageError(std::string("--") + needed +
                     " is missing: there is no setting to take it from, so give power, speed and dpi");
  }
  if (!shop::accepts(machine, setting)) {
    throw UsageError("the machine " + machine.name + " does not take " + shop::to_text(setting) +
                     "; see its ranges, steps, dpi list and dose limit in grids/shop.toml");
  }
  return setting;
}

std::string read_by(const Arguments& arguments) {
  std::string by = arguments.text("by");
  if (by.find_first_not_of(" \t") == std::string::npos) {
    throw UsageError("--by is missing: say who, with --by NAME");
  }
  return by;
}

}  // namespace frostcal::cli
