// Decisions on simulated shops, in process: what is adopted and whether it keeps its promise, what carrying a
// glass to another machine loses, how soon a tired tube is noticed. Prints tables for DEVELOPERS.md.
#include <boost/program_options.hpp>
#include <fstream>
#include <iostream>
#include <stdexcept>

#include "bench/benchmark_program.hpp"
#include "bench/decision_trial.hpp"

namespace {

namespace options = boost::program_options;
using namespace frostcal::bench;

const std::string kProgram = "decision_benchmark";

void run(int argc, char** argv) {
  std::string what;
  options::options_description own;
  own.add_options()("what", options::value(&what)->default_value("adoptions"),
                    "adoptions, carry, pieces, stale or drift");
  GlassOptions glass;
  glass.first = 700;
  if (!read_options(kProgram, argc, argv, own, glass)) return;
  std::ofstream file;
  if (!glass.rows.empty()) file.open(glass.rows);
  std::ostream* const out = glass.rows.empty() ? nullptr : &file;
  if (what == "adoptions") {
    print_adoptions(std::cout, simulate_adoptions(glass.first, glass.glasses, out));
  } else if (what == "carry") {
    print_carries(std::cout, simulate_carries(glass.first, glass.glasses, out));
  } else if (what == "pieces") {
    print_pieces(std::cout, simulate_pieces(glass.first, glass.glasses));
  } else if (what == "stale") {
    print_power_losses(std::cout, simulate_power_losses(glass.first, glass.glasses));
  } else if (what == "drift") {
    print_drift(std::cout, simulate_drift(glass.first, glass.glasses));
  } else {
    throw std::runtime_error("--what: adoptions, carry, pieces, stale or drift, not " + what);
  }
}

}  // namespace

int main(int argc, char** argv) {
  return exit_status(kProgram, [&] { run(argc, argv); });
}
