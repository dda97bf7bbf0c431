#include "cli/setting_options.hpp"

#include <algorithm>

#include "errors/user_error.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::cli {

namespace {

using textfile::format_number;

// Each dial that the machine refuses, with what it takes instead; accepts() has said no.
std::string refusal(const shop::Machine& machine, const shop::Setting& setting) {
  std::vector<std::string> faults;
  const auto judge = [&](double value, const shop::SteppedRange& range, const std::string& dial) {
    if (range.accepts(value)) return;
    const std::string taken = range.min == range.max
                                  ? "only " + format_number(range.min)
                                  : format_number(range.min) + " to " + format_number(range.max) +
                                        " in steps of " + format_number(range.step);
    faults.push_back(format_number(value) + " % " + dial + " (it takes " + taken + ")");
  };
  judge(setting.power_pct, machine.power_pct, "power");
  judge(setting.speed_pct, machine.speed_pct, "speed");
  if (std::find(machine.dpi.begin(), machine.dpi.end(), setting.dpi) == machine.dpi.end()) {
    std::vector<std::string> known;
    for (const int dpi : machine.dpi) known.push_back(std::to_string(dpi));
    faults.push_back(std::to_string(setting.dpi) + " dpi (it takes " + textfile::joined(known) + ")");
  }
  judge(setting.tone_pct, machine.tone_pct, "tone");
  if (std::find(machine.screens.begin(), machine.screens.end(), setting.screen) == machine.screens.end()) {
    faults.push_back("the screen " + errors::quoted(setting.screen) + " (it offers " +
                     textfile::joined(machine.screens) + ")");
  }
  if (faults.empty()) {
    faults.push_back(shop::to_text(setting) + ": " +
                     textfile::format_fixed(shop::dose_j_mm2(setting, machine), 2) +
                     " J/mm2 is over the shop's dose limit of " + format_number(machine.dose_limit_j_mm2));
  }
  return "the machine " + machine.name + " does not take " + textfile::joined(faults, "; ") +
         "; its ranges are in grids/shop.toml";
}

}  // namespace

void refuse_impossible(const shop::Machine& machine, const shop::Setting& setting,
                       const std::string& option) {
  if (!shop::accepts(machine, setting)) throw UsageError(option + refusal(machine, setting));
}

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
  setting.power_pct = arguments.number("power", 0.01, 100, setting.power_pct, Unit::percent);
  setting.speed_pct = arguments.number("speed", 0.01, 100, setting.speed_pct, Unit::percent);
  setting.dpi = static_cast<int>(arguments.integer("dpi", 1, 10000, setting.dpi, Unit::dpi));
  setting.tone_pct = arguments.number("tone", 0.01, 100, setting.tone_pct, Unit::percent);
  setting.screen = arguments.text("screen", setting.screen);
  setting.passes = static_cast<int>(arguments.integer("passes", 1, 100, setting.passes));
  for (const char* needed : {"power", "speed", "dpi"}) {
    if (base || arguments.has(needed)) continue;
    throw UsageError(std::string("--") + needed +
                     " is missing: there is no setting to take it from, so give power, speed and dpi");
  }
  refuse_impossible(machine, setting);
  setting.power_pct = machine.power_pct.dialled(setting.power_pct);
  setting.speed_pct = machine.speed_pct.dialled(setting.speed_pct);
  setting.tone_pct = machine.tone_pct.dialled(setting.tone_pct);
  return setting;
}

}  // namespace frostcal::cli
