#include "cli/parse_arguments.hpp"

#include <algorithm>
#include <boost/program_options.hpp>
#include <cmath>
#include <sstream>

#include "errors/ascii.hpp"
#include "errors/bug.hpp"
#include "errors/user_error.hpp"
#include "textfile/number_text.hpp"
#include "textfile/wrapped_text.hpp"

namespace po = boost::program_options;

namespace frostcal::cli {

namespace {

// Of those that could be taken for another.
const char* unit_word(Unit unit) {
  switch (unit) {
    case Unit::mm:
      return " mm";
    case Unit::inch:
      return " in";
    case Unit::minutes:
      return " minutes";
    default:
      return "";
  }
}

double read_number(const std::string& option, const std::string& text, double min, double max, Unit unit,
                   bool whole = false) {
  const std::optional<double> value = read_amount(text, unit);
  if (value && *value >= min && *value <= max && (!whole || *value == std::floor(*value))) return *value;
  const std::string expected = (whole ? "a whole number from " : "a number from ") +
                               textfile::format_number(min) + " to " + textfile::format_number(max) +
                               unit_word(unit);
  std::string hint;
  const std::size_t comma = text.find(',');
  if (comma != std::string::npos && !whole)
    hint = "; write decimals with a point: " + text.substr(0, comma) + '.' + text.substr(comma + 1);
  throw UsageError("--" + option + ": found " + errors::quoted(text) + ", expected " + expected + hint);
}

// What boost calls an operand; behind "--" it can't be typed, where the name ends before "=".
constexpr const char* kOperand = "operand=";

std::string option_column(const OptionText& option) {
  return "--" + option.name + (option.argument.empty() ? "" : " " + option.argument);
}

}  // namespace

const std::vector<OptionText>& common_options() {
  static const std::vector<OptionText> options = {
      {"shop", "DIR", "the shop folder (default: the current folder)", false},
      {"no-color", "", "no colour in the terminal (there is none at present)", false},
      {"help", "", "show this text", false},
  };
  return options;
}

std::vector<OptionText> all_options(const Command& command) {
  std::vector<OptionText> all = command.options;
  all.insert(all.end(), common_options().begin(), common_options().end());
  return all;
}

bool Arguments::has(const std::string& option) const {
  FROSTCAL_ASSERT(known.count(option) != 0, "an option of the command");
  return values.count(option) != 0;
}

std::string Arguments::text(const std::string& option, const std::string& fallback) const {
  return find(option).value_or(fallback);
}

std::optional<std::string> Arguments::find(const std::string& option) const {
  if (!has(option)) return std::nullopt;
  return values.at(option).back();
}

const std::vector<std::string>& Arguments::all(const std::string& option) const {
  static const std::vector<std::string> none;
  return has(option) ? values.at(option) : none;
}

std::string Arguments::word(const std::string& option, const std::string& fallback) const {
  return errors::to_lower(text(option, fallback));
}

double Arguments::number(const std::string& option, double min, double max, double fallback,
                         Unit unit) const {
  const std::optional<std::string> given = find(option);
  return given ? read_number(option, *given, min, max, unit) : fallback;
}

long Arguments::integer(const std::string& option, long min, long max, long fallback, Unit unit) const {
  const std::optional<std::string> given = find(option);
  if (!given) return fallback;
  return static_cast<long>(
      read_number(option, *given, static_cast<double>(min), static_cast<double>(max), unit, true));
}

std::optional<std::pair<double, double>> Arguments::range(const std::string& option, double min, double max,
                                                          Unit unit) const {
  const std::optional<std::string> given = find(option);
  if (!given) return std::nullopt;
  const std::size_t colon = given->find(':');
  const std::string upper = colon == std::string::npos ? given->substr(0, colon) : given->substr(colon + 1);
  if (!read_amount(given->substr(0, colon), unit) || !read_amount(upper, unit)) {
    throw UsageError("--" + option + ": found " + errors::quoted(*given) +
                     ", expected a number or LOW:HIGH, such as 20:60");
  }
  const double low = read_number(option, given->substr(0, colon), min, max, unit);
  const double high = read_number(option, upper, min, max, unit);
  if (high < low) {
    throw UsageError("--" + option + ": found " + errors::quoted(*given) +
                     ", expected LOW:HIGH; swap the two");
  }
  return std::make_pair(low, high);
}

std::vector<double> Arguments::list(const std::string& option, double min, double max, Unit unit) const {
  std::vector<double> numbers;
  const std::optional<std::string> given = find(option);
  if (!given) return numbers;
  std::istringstream parts(*given);
  std::string part;
  while (std::getline(parts, part, ',')) {
    if (!read_amount(part, unit)) {
      throw UsageError("--" + option + ": found " + errors::quoted(*given) +
                       ", expected numbers with commas between them, such as 250,300");
    }
    numbers.push_back(read_number(option, part, min, max, unit));
  }
  return numbers;
}

Arguments parse_arguments(const Command& command, const std::vector<std::string>& words, bool& help) {
  const std::vector<OptionText> options = all_options(command);
  po::options_description described;
  std::vector<std::string> names;
  for (const OptionText& option : options) {
    names.push_back(option.name);
    if (option.argument.empty()) {
      described.add_options()(option.name.c_str(), "");
    } else {
      described.add_options()(option.name.c_str(), po::value<std::vector<std::string>>()->composing(), "");
    }
  }
  described.add_options()(kOperand, po::value<std::vector<std::string>>(), "");
  po::positional_options_description positional;
  positional.add(kOperand, -1);

  Arguments arguments;
  arguments.known = {names.begin(), names.end()};
  try {
    const int style = po::command_line_style::unix_style & ~po::command_line_style::allow_guessing;
    const po::parsed_options parsed =
        po::command_line_parser(words).options(described).positional(positional).style(style).run();
    for (const po::option& option : parsed.options) {
      if (option.string_key == kOperand) {
        arguments.operands.insert(arguments.operands.end(), option.value.begin(), option.value.end());
        continue;
      }
      std::vector<std::string>& values = arguments.values[option.string_key];
      if (option.value.empty()) values.emplace_back();
      for (const std::string& value : option.value) values.push_back(value);
    }
  } catch (const po::unknown_option& error) {
    std::string name = error.get_option_name();
    name.erase(0, name.find_first_not_of('-'));
    const bool one_dash = std::find(words.begin(), words.end(), '-' + name) != words.end();
    const std::string near = errors::nearest(name, names);
    throw UsageError("unknown option " + errors::quoted((one_dash ? "-" : "--") + name) +
                     (near.empty() ? "" : "; did you mean --" + near + "?"));
  } catch (const po::error& error) {
    throw UsageError(error.what());
  }

  help = arguments.has("help");
  if (help) return arguments;
  for (const OptionText& option : options) {
    const std::vector<std::string>& values = arguments.all(option.name);
    if (values.size() > 1 && !option.repeatable)
      throw UsageError("--" + option.name + " is given more than once");
    for (const std::string& value : values) {
      const bool is_option =
          value.rfind("--", 0) == 0 && std::find(names.begin(), names.end(), value.substr(2)) != names.end();
      if (!option.argument.empty() && (value.empty() || is_option)) {
        throw UsageError("--" + option.name + " needs a value (" + option.argument + ")" +
                         (is_option ? ", found the option " + value : ""));
      }
    }
  }
  arguments.shop = arguments.text("shop", ".");
  const int count = static_cast<int>(arguments.operands.size());
  const bool any_empty = std::any_of(arguments.operands.begin(), arguments.operands.end(),
                                     [](const std::string& operand) { return operand.empty(); });
  if (any_empty || count < command.min_operands ||
      (command.max_operands >= 0 && count > command.max_operands)) {
    std::string found;
    for (const std::string& operand : arguments.operands) found += (found.empty() ? "" : " ") + operand;
    if (count == 0)
      throw UsageError(command.operands + " is missing: frostcal " + command.name + ' ' + command.operands);
    throw UsageError("found " + errors::quoted(found) + ", expected " +
                     (command.operands.empty() ? "only options behind " + command.name : command.operands));
  }
  return arguments;
}

std::vector<std::string> paragraphs(const std::string& manual) {
  std::vector<std::string> parts;
  for (std::size_t start = 0; start < manual.size();) {
    const std::size_t end = std::min(manual.find("\n\n", start), manual.size());
    parts.push_back(manual.substr(start, end - start));
    start = end + 2;
  }
  return parts;
}

std::string help_text(const Command& command) {
  std::string text = "usage: frostcal " + command.name;
  if (!command.operands.empty()) text += ' ' + command.operands;
  text += " [options]\n\n" + command.summary + "\n";
  for (const std::string& paragraph : paragraphs(command.manual)) {
    text += '\n' + textfile::wrapped(paragraph, kHelpWidth, 0) + '\n';
  }
  text += "\noptions:\n";
  const std::vector<OptionText> options = all_options(command);
  std::size_t column = 0;
  for (const OptionText& option : options) column = std::max(column, option_column(option).size());
  column = std::min<std::size_t>(column, 24) + 4;
  for (const OptionText& option : options) {
    std::string left = "  " + option_column(option);
    left +=
        left.size() + 2 > column ? '\n' + std::string(column, ' ') : std::string(column - left.size(), ' ');
    text += textfile::wrapped(left + option.text, kHelpWidth, column) + '\n';
  }
  return text;
}

}  // namespace frostcal::cli
