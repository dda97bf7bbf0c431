// `fit --measured`, `fit --classical` and `fit --plain`: the classical models beside the tool's own.
#pragma once

#include "cli/command.hpp"

namespace frostcal::cli {

/// Second-order least squares of a measured column or of the mean frost grade, per glass and machine.
ExitStatus fit_classical(const Arguments& arguments, const Streams& streams);

/// A cumulative-link model without prior on any CSV file.
ExitStatus fit_plain(const Arguments& arguments, const Streams& streams);

}  // namespace frostcal::cli
