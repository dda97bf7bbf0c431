// From the words on the command line to a command and its exit status.
#pragma once

#include <string>
#include <vector>

#include "cli/command.hpp"

namespace frostcal::cli {

/// `arguments` without the program's name. Catches everything, prints messages to streams.err, checks that
/// streams.out could be written.
ExitStatus dispatch(const std::vector<std::string>& arguments, const Streams& streams);

}  // namespace frostcal::cli
