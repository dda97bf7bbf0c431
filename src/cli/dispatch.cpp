#include "cli/dispatch.hpp"

#include <ostream>

#include "version.hpp"

namespace frostcal::cli {

ExitStatus dispatch(const std::vector<std::string>& arguments, const Streams& streams) {
  if (arguments.size() == 1 && arguments[0] == "--version") {
    streams.out << "frostcal " << kVersion << '\n';
    return ExitStatus::done;
  }
  streams.err << "usage: frostcal COMMAND\n";
  return ExitStatus::trouble;
}

}  // namespace frostcal::cli
