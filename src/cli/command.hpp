// What every command is made of.
#pragma once

#include <filesystem>
#include <iosfwd>
#include <map>
#include <optional>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include "cli/quantity.hpp"

namespace frostcal::cli {

enum class ExitStatus : int {
  done = 0,
  no = 1,       // the honest answer is no
  trouble = 2,  // wrong command line, wrong file or value, or the file system refuses
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

/// The words after a command's name, sorted but not yet interpreted.
struct Arguments {
  std::filesystem::path shop = ".";
  std::vector<std::string> operands;
  std::map<std::string, std::vector<std::string>> values;  // by option name; a switch has one empty value
  std::set<std::string> known;  // the options of the command; asking for another is a Bug

  bool has(const std::string& option) const;
  /// The option's value, or the fallback when it was not given.
  std::string text(const std::string& option, const std::string& fallback = "") const;
  std::optional<std::string> find(const std::string& option) const;
  const std::vector<std::string>& all(const std::string& option) const;
  /// The same in lower case, for values that are words of ours: "A4" is "a4".
  std::string word(const std::string& option, const std::string& fallback = "") const;
  /// A finite number within the bounds, with or without the unit; UsageError names option, found and
  /// expected.
  double number(const std::string& option, double min, double max, double fallback,
                Unit unit = Unit::none) const;
  long integer(const std::string& option, long min, long max, long fallback, Unit unit = Unit::none) const;
  /// "20:100" -> {20, 100}; one number means both ends.
  std::optional<std::pair<double, double>> range(const std::string& option, double min, double max,
                                                 Unit unit = Unit::none) const;
  /// "250,300" -> {250, 300}.
  std::vector<double> list(const std::string& option, double min, double max, Unit unit = Unit::none) const;
};

/// A command, or a subcommand such as `table adopt` (name "table adopt"). The same rows feed parsing, --help,
/// the man pages and completion. --shop, --help and --no-color are understood by every command.
struct Command {
  std::string name;
  std::string operands;  // "GLASS" as shown in the usage line
  int min_operands = 0;
  int max_operands = 0;  // -1 = any number
  std::string summary;   // one line
  std::string manual;    // paragraphs separated by an empty line
  std::vector<OptionText> options;
  ExitStatus (*run)(const Arguments& arguments, const Streams& streams) = nullptr;
};

}  // namespace frostcal::cli
