// The dials of a setting as command line options: --power, --speed, --dpi, --tone, --screen, --passes.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "shop/setting.hpp"

namespace frostcal::cli {

/// Throws UsageError that names each dial which the machine refuses, with what it takes instead; `option`,
/// such as "--at: ", stands before it.
void refuse_impossible(const shop::Machine& machine, const shop::Setting& setting,
                       const std::string& option = "");

/// The rows for a command's option list.
std::vector<OptionText> setting_option_rows();

/// Nothing when none of them was given. Dials that were not given are taken from `base`; without a base
/// power, speed and dpi must be given, tone is the machine's highest, the screen its first, passes 1. Throws
/// UsageError when one is missing or the machine does not take the setting.
std::optional<shop::Setting> setting_from_options(const Arguments& arguments, const shop::Machine& machine,
                                                  const std::optional<shop::Setting>& base);

}  // namespace frostcal::cli
