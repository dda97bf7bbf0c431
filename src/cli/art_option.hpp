// The size of the art as a command line option: --art 76.2x50, with --units.
#pragma once

#include <string>

#include "cli/command.hpp"
#include "shop/shop.hpp"
#include "table/job_estimate.hpp"

namespace frostcal::cli {

/// The value of --units, else `fallback`. Throws UsageError.
shop::LengthUnit read_units(const Arguments& arguments, shop::LengthUnit fallback);

/// The value of --art, WIDTHxHEIGHT: round the bottle x along its axis. Throws UsageError, also when it is
/// missing.
table::ArtSize read_art(const Arguments& arguments, shop::LengthUnit units);

}  // namespace frostcal::cli
