// What the programs that measure on hidden glasses share: their common options and how they end.
#pragma once

#include <boost/program_options/options_description.hpp>
#include <cstdint>
#include <functional>
#include <string>

namespace frostcal::bench {

/// Options of every benchmark on hidden glasses.
struct GlassOptions {
  int glasses = 10;         // hidden glasses, each with a machine of its own
  std::uint64_t first = 1;  // seed of the first
  std::string rows;         // CSV file that gets every outcome or case; empty = none
};

/// Reads the command line into `glass` and into what `own` points to. Prints the options and gives false when
/// --help was asked for. Throws what Boost.Program_options throws.
bool read_options(const std::string& program, int argc, char** argv,
                  const boost::program_options::options_description& own, GlassOptions& glass);

/// Runs a benchmark: 0, or 2 with the fault on standard error.
int exit_status(const std::string& program, const std::function<void()>& run);

}  // namespace frostcal::bench
