// What every command is made of.
#pragma once

#include <iosfwd>
#include <stdexcept>
#include <string>
#include <vector>

namespace frostcal::cli {

enum class ExitStatus : int {
  done = 0,
  no = 1,        // the honest answer is no
  trouble = 2,   // wrong command line, wrong file or value, or the file system refuses
  our_fault = 70
};

struct Streams {
  std::istream& in;
  std::ostream& out;
  std::ostream& err;
};

/// A wrong command line. The text says what is wrong; dispatch adds how to get help.
class UsageError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

struct OptionText {
  std::string name;      // "power"
  std::string argument;  // "MIN:MAX"; empty for a switch
  std::string text;
  bool repeatable = false;
};

/// A command, or a subcommand such as `table adopt` (name "table adopt"). `operands` is shown in the usage
/// line. The same rows feed parsing, --help, the man pages and completion.
struct Command {
  std::string name;
  std::string operands;  // "GLASS"
  std::string summary;   // one line
  std::string manual;    // paragraphs
  std::vector<OptionText> options;
  int min_operands = 0;
  int max_operands = 0;  // -1 = any number
  struct Arguments;
  ExitStatus (*run)(const Arguments& arguments, const Streams& streams) = nullptr;
};

}  // namespace frostcal::cli
