// Runs a command of frostcal inside the test.
#pragma once

#include <sstream>
#include <string>
#include <vector>

#include "cli/dispatch.hpp"
#include "support/program.hpp"
#include "support/sample_shop.hpp"

namespace frostcal::test {

/// The command on the shop, without input.
inline Outcome run_in_process(const SampleShop& sample, std::vector<std::string> words) {
  words.insert(words.end(), {"--shop", sample.option()});
  std::istringstream in;
  std::ostringstream out;
  std::ostringstream err;
  const cli::ExitStatus status = cli::dispatch(words, {in, out, err});
  return {static_cast<int>(status), out.str(), unwrapped(err.str()), err.str()};
}

}  // namespace frostcal::test
