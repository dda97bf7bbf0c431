// `frostcal log GLASS --cured TEXT`.
#pragma once

#include <string>

#include "cli/command.hpp"
#include "table/settings_row.hpp"

namespace frostcal::cli {

/// Records that a fault of the machine was found and cured, and says what is set aside by it.
ExitStatus log_cured(const Arguments& arguments, const Streams& streams);

/// The command that records a cured fault of the row's machine, to be copied.
std::string cured_command(const shop::Shop& shop, const table::SettingsRow& row);

}  // namespace frostcal::cli
