#include "bench/benchmark_program.hpp"

#include <boost/program_options.hpp>
#include <exception>
#include <iostream>

namespace frostcal::bench {

namespace options = boost::program_options;

bool read_options(const std::string& program, int argc, char** argv, const options::options_description& own,
                  GlassOptions& glass) {
  options::options_description known(program);
  auto add = known.add_options();
  add("help", "print this");
  add("glasses", options::value(&glass.glasses)->default_value(glass.glasses),
      "hidden glasses; each has a machine of its own");
  add("first", options::value(&glass.first)->default_value(glass.first), "seed of the first glass");
  add("rows", options::value(&glass.rows), "also write every outcome to this CSV file");
  known.add(own);
  options::variables_map given;
  options::store(options::parse_command_line(argc, argv, known), given);
  options::notify(given);
  if (given.count("help") > 0) std::cout << known;
  return given.count("help") == 0;
}

int exit_status(const std::string& program, const std::function<void()>& run) {
  try {
    run();
    return 0;
  } catch (const std::exception& fault) {
    std::cerr << program << ": " << fault.what() << '\n';
    return 2;
  }
}

}  // namespace frostcal::bench
