// The list of all commands.
#pragma once

#include <vector>

#include "cli/command.hpp"

namespace frostcal::cli {

/// In the order of a day's work; `frostcal --help` prints them so.
const std::vector<Command>& command_list();

}  // namespace frostcal::cli
