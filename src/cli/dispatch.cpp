#include "cli/dispatch.hpp"

#include <algorithm>
#include <exception>
#include <ostream>

#include "cli/command_list.hpp"
#include "cli/message.hpp"
#include "cli/parse_arguments.hpp"
#include "cli/terminal.hpp"
#include "errors/ascii.hpp"
#include "errors/bug.hpp"
#include "errors/system_error.hpp"
#include "errors/user_error.hpp"
#include "textfile/phrases.hpp"
#include "textfile/wrapped_text.hpp"
#include "version.hpp"

namespace frostcal::cli {

namespace {

std::string overview() {
  std::string text =
      "usage: frostcal COMMAND [what it is about] [options]\n\n"
      "Finds the laser setting that frosts a glass evenly without chipping: plans test\n"
      "grids on scrap bottles, takes your grades, fits, and keeps the settings table.\n\n";
  for (const Command& command : command_list()) {
    const std::string left = textfile::left_column("  " + command.name, 20);
    text += textfile::wrapped(left + command.summary, kHelpWidth, 20) + '\n';
  }
  return text +
         "\n'frostcal COMMAND --help' explains one command; --version prints the version.\n"
         "Exit status: 0 done; 1 the honest answer is no; 2 trouble; 70 our own fault;\n130 ended by "
         "Ctrl-C.\n";
}

// The command that the words name, and how many words its name takes.
const Command* find_command(const std::vector<std::string>& words, std::size_t& taken) {
  const Command* best = nullptr;
  for (const Command& command : command_list()) {
    const std::size_t space = command.name.find(' ');
    const bool one = space == std::string::npos && command.name == words[0];
    const bool two =
        space != std::string::npos && words.size() > 1 && command.name == words[0] + ' ' + words[1];
    if (one || two) {
      best = &command;
      taken = one ? 1 : 2;
      if (two) return best;
    }
  }
  return best;
}

ExitStatus usage_fault(const Streams& streams, const std::string& text, const std::string& command) {
  tell(streams,
       "frostcal: " + text + "\nFor help: frostcal " + (command.empty() ? "" : command + ' ') + "--help\n");
  return ExitStatus::trouble;
}

ExitStatus unknown_command(const std::vector<std::string>& words, const Streams& streams) {
  std::vector<std::string> names;
  std::string below;
  for (const Command& command : command_list()) {
    names.push_back(command.name);
    if (command.name.rfind(words[0] + ' ', 0) == 0) below += (below.empty() ? "" : ", ") + command.name;
  }
  if (!below.empty()) {
    if (words.size() > 1 && words[1] == "--help") {
      streams.out << overview();
      return ExitStatus::done;
    }
    return usage_fault(streams,
                       "found " + errors::quoted(words.size() > 1 ? words[0] + ' ' + words[1] : words[0]) +
                           ", expected one of " + below,
                       "");
  }
  std::string near = errors::nearest(words[0], names);
  for (const std::string& name : names) {  // "adopt" for "table adopt"
    const std::size_t blank = name.rfind(' ');
    if (blank != std::string::npos && name.substr(blank + 1) == errors::to_lower(words[0])) near = name;
  }
  return usage_fault(
      streams,
      "unknown command " + errors::quoted(words[0]) + (near.empty() ? "" : "; did you mean " + near + "?"),
      "");
}

// "table adpot" is read as `table` with an operand; says what was probably meant.
void hint_at_longer_name(const Command& command, const std::vector<std::string>& words,
                         const Streams& streams) {
  std::vector<std::string> longer;
  for (const Command& one : command_list()) {
    if (one.name.rfind(command.name + ' ', 0) == 0)
      longer.push_back(one.name.substr(command.name.size() + 1));
  }
  const std::string near = words.empty() ? "" : errors::nearest(words[0], longer);
  if (!near.empty()) tell(streams, "Did you mean frostcal " + command.name + ' ' + near + "?\n");
}

ExitStatus run_words(std::vector<std::string> words, const Streams& streams) {
  std::vector<std::string> leading;  // --shop DIR or --shop=DIR may stand before the command
  while (!words.empty() && (words[0] == "--shop" || words[0].rfind("--shop=", 0) == 0)) {
    const std::size_t taken = words[0] == "--shop" ? std::min<std::size_t>(2, words.size()) : 1;
    const auto end = words.begin() + static_cast<std::ptrdiff_t>(taken);
    leading.insert(leading.end(), words.begin(), end);
    words.erase(words.begin(), end);
  }
  std::replace(words.begin(), words.end(), std::string("-h"), std::string("--help"));
  if (words.empty()) {
    streams.err << overview();
    return ExitStatus::trouble;
  }
  if (words[0] == "help" && words.size() > 1) {  // `help fit` is `fit --help`
    words.erase(words.begin());
    words.push_back("--help");
  }
  if (words[0] == "--help" || words[0] == "help") {
    streams.out << overview();
    return ExitStatus::done;
  }
  if (words[0] == "--version") {
    streams.out << "frostcal " << kVersion << '\n';
    return ExitStatus::done;
  }
  std::size_t taken = 0;
  const Command* command = find_command(words, taken);
  if (command == nullptr) return unknown_command(words, streams);
  words.erase(words.begin(), words.begin() + static_cast<std::ptrdiff_t>(taken));
  words.insert(words.begin(), leading.begin(), leading.end());
  try {
    bool help = false;
    const Arguments arguments = parse_arguments(*command, words, help);
    if (help) {
      streams.out << help_text(*command);
      return ExitStatus::done;
    }
    return command->run(arguments, streams);
  } catch (const UsageError& error) {
    const ExitStatus status = usage_fault(streams, error.what(), command->name);
    hint_at_longer_name(*command, words, streams);
    return status;
  } catch (const errors::UserError& error) {
    tell(streams, error.what() + std::string("\n"));
    hint_at_longer_name(*command, words, streams);
    return ExitStatus::trouble;
  }
}

}  // namespace

ExitStatus dispatch(const std::vector<std::string>& arguments, const Streams& streams) {
  ExitStatus status = ExitStatus::our_fault;
  const int written = InterruptDelay::finished();
  try {
    status = run_words(arguments, streams);
  } catch (const errors::UserError& error) {
    tell(streams, error.what() + std::string("\n"));
    status = ExitStatus::trouble;
  } catch (const errors::SystemError& error) {
    tell(streams, error.what() + std::string("\n"));
    status = ExitStatus::trouble;
  } catch (const std::exception& error) {
    tell(streams, "frostcal " + std::string(kVersion) + ": a fault of our own: " + error.what() +
                      "\nNothing of yours is at fault. Please report this with the command you gave.\n");
    return ExitStatus::our_fault;
  }
  streams.out.flush();
  if (!streams.out) {
    tell(streams, std::string("standard output: cannot write the answer; is the disk full?") +
                      (InterruptDelay::finished() > written
                           ? " But what the command was to record is recorded: don't give it again.\n"
                           : "\n"));
    return ExitStatus::trouble;
  }
  return status;
}

}  // namespace frostcal::cli
