// Decisions on simulated shops, in process: what is adopted and whether it keeps its promise, what carrying a
// glass to another machine loses, how soon a tired tube is noticed. Prints tables for DEVELOPERS.md.
#include <boost/program_options.hpp>
#include <exception>
#include <fstream>
#include <iostream>

#include "bench/decision_trial.hpp"

namespace {

namespace options = boost::program_options;
using namespace frostcal::bench;

int run(int argc, char** argv) {
  int glasses = 10;
  std::uint64_t first = 700;
  std::string what;
  std::string rows;
  options::options_description known("decision_benchmark");
  auto add = known.add_options();
  add("help", "print this");
  add("what", options::value(&what)->default_value("adoptions"), "adoptions, carry or stale");
  add("glasses", options::value(&glasses)->default_value(10),
      "hidden glasses, each with a machine of its own");
  add("first", options::value(&first)->default_value(700), "seed of the first glass");
  add("rows", options::value(&rows), "also write every case to this CSV file");
  options::variables_map given;
  options::store(options::parse_command_line(argc, argv, known), given);
  options::notify(given);
  if (given.count("help") > 0) {
    std::cout << known;
    return 0;
  }
  std::ofstream file;
  if (!rows.empty()) file.open(rows);
  std::ostream* const out = rows.empty() ? nullptr : &file;
  if (what == "adoptions") {
    print_adoptions(std::cout, simulate_adoptions(first, glasses, out));
  } else if (what == "carry") {
    print_carries(std::cout, simulate_carries(first, glasses, out));
  } else if (what == "stale") {
    print_power_losses(std::cout, simulate_power_losses(first, glasses));
  } else {
    throw std::runtime_error("--what: adoptions, carry or stale, not " + what);
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const std::exception& fault) {
    std::cerr << "decision_benchmark: " << fault.what() << '\n';
    return 2;
  }
}
