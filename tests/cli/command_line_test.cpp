// Each row of the command list, and what people mistype.
#include <sys/wait.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <sstream>

#include "cli/command_list.hpp"
#include "cli/dispatch.hpp"
#include "cli/parse_arguments.hpp"
#include "errors/bug.hpp"
#include "support/program.hpp"
#include "textfile/wrapped_text.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;

namespace {

struct Ran {
  int status;
  std::string out;
  std::string err;
};

Ran run(const std::vector<std::string>& words) {
  std::istringstream in;
  std::ostringstream out;
  std::ostringstream err;
  const cli::ExitStatus status = cli::dispatch(words, {in, out, err});
  return {static_cast<int>(status), out.str(), test::unwrapped(err.str())};
}

std::vector<std::string> words_of(const cli::Command& command) {
  std::istringstream text(command.name);
  std::vector<std::string> words;
  for (std::string word; text >> word;) words.push_back(word);
  return words;
}

std::vector<cli::OptionText> options_of(const cli::Command& command) {
  std::vector<cli::OptionText> all = command.options;
  all.insert(all.end(), cli::common_options().begin(), cli::common_options().end());
  return all;
}

std::size_t longest_line(const std::string& text) {
  std::istringstream lines(text);
  std::size_t longest = 0;
  for (std::string line; std::getline(lines, line);) longest = std::max(longest, line.size());
  return longest;
}

}  // namespace

TEST_CASE("every command explains itself within 79 columns and names its options", "[cli]") {
  for (const cli::Command& command : cli::command_list()) {
    CAPTURE(command.name);
    std::vector<std::string> words = words_of(command);
    words.emplace_back("--help");
    const Ran ran = run(words);
    CHECK(ran.status == 0);
    CHECK(ran.err == "");
    CHECK_THAT(ran.out, Contains(textfile::wrapped(command.summary, 79, 0)));
    CHECK(longest_line(ran.out) <= 79);
    for (const cli::OptionText& option : options_of(command)) {
      CHECK_THAT(ran.out,
                 Contains("\n  --" + option.name + (option.argument.empty() ? "" : " " + option.argument)));
    }
  }
}

TEST_CASE("the overview names every command within 79 columns", "[cli]") {
  const Ran ran = run({"--help"});
  CHECK(ran.status == 0);
  CHECK(longest_line(ran.out) <= 79);
  for (const cli::Command& command : cli::command_list())
    CHECK_THAT(ran.out, Contains("\n  " + command.name + ' '));
  CHECK(run({}).status == 2);
  CHECK(run({}).err == test::unwrapped(ran.out));
}

TEST_CASE("every option of every command is taken in both spellings", "[cli]") {
  for (const cli::Command& command : cli::command_list()) {
    CAPTURE(command.name);
    const std::vector<std::string> operands(static_cast<std::size_t>(command.min_operands), "x");
    for (const cli::OptionText& option : options_of(command)) {
      if (option.name == "help") continue;
      CAPTURE(option.name);
      bool help = false;
      std::vector<std::string> words = operands;
      words.push_back("--" + option.name);
      if (!option.argument.empty()) {
        std::vector<std::string> joined = operands;
        joined.push_back("--" + option.name + "=7");
        CHECK(cli::parse_arguments(command, joined, help).text(option.name) == "7");
        CHECK_THROWS_AS(cli::parse_arguments(command, words, help), cli::UsageError);  // no value
        words.emplace_back("7");
      }
      const cli::Arguments arguments = cli::parse_arguments(command, words, help);
      CHECK(arguments.has(option.name));
      CHECK(arguments.text(option.name) == (option.argument.empty() ? "" : "7"));
      CHECK(arguments.operands == operands);
      const std::vector<std::string> again(words.begin() + command.min_operands, words.end());
      words.insert(words.end(), again.begin(), again.end());
      if (option.repeatable) {
        CHECK(cli::parse_arguments(command, words, help).all(option.name).size() == 2);
      } else {
        CHECK_THROWS_AS(cli::parse_arguments(command, words, help), cli::UsageError);
      }
    }
  }
}

// So that a command which asks for an option that it does not have fails in every test that runs it.
TEST_CASE("a command can't ask for an option that it does not have", "[cli]") {
  for (const cli::Command& command : cli::command_list()) {
    bool help = false;
    const std::vector<std::string> operands(static_cast<std::size_t>(command.min_operands), "x");
    const cli::Arguments arguments = cli::parse_arguments(command, operands, help);
    for (const cli::OptionText& option : options_of(command)) CHECK_FALSE(arguments.has(option.name));
    CHECK_THROWS_AS(arguments.has("sideways"), errors::Bug);
    CHECK_THROWS_AS(arguments.text("sideways"), errors::Bug);
    CHECK_THROWS_AS(arguments.all("sideways"), errors::Bug);
    CHECK_THROWS_AS(arguments.number("sideways", 0, 1, 0), errors::Bug);
  }
}

TEST_CASE("too few and too many words are refused", "[cli]") {
  for (const cli::Command& command : cli::command_list()) {
    CAPTURE(command.name);
    std::vector<std::string> words = words_of(command);
    const std::size_t name = words.size();
    words.resize(name + static_cast<std::size_t>(std::max(0, command.min_operands - 1)), "x");
    if (command.min_operands > 0) {
      const Ran ran = run(words);
      CHECK(ran.status == 2);
      CHECK(ran.err == "frostcal: " + command.operands + " is missing: frostcal " + command.name + ' ' +
                           command.operands + "\nFor help: frostcal " + command.name + " --help\n");
    }
    if (command.max_operands >= 0) {
      words.resize(name + static_cast<std::size_t>(command.max_operands) + 1, "x");
      CHECK(run(words).status == 2);
    }
  }
}

TEST_CASE("mistyped commands and options point to the nearest", "[cli]") {
  const auto [words, message] = GENERATE(table<std::vector<std::string>, std::string>({
      {{"paln", "x"}, "frostcal: unknown command \"paln\"; did you mean plan?\nFor help: frostcal --help\n"},
      {{"adopt", "x"},
       "frostcal: unknown command \"adopt\"; did you mean table adopt?\nFor help: frostcal --help\n"},
      {{"card"}, "frostcal: unknown command \"card\"; did you mean table card?\nFor help: frostcal --help\n"},
      {{"log", "x", "-good"},
       "frostcal: unknown option \"-good\"; did you mean --good?\nFor help: frostcal log --help\n"},
      {{"xyzzy"}, "frostcal: unknown command \"xyzzy\"\nFor help: frostcal --help\n"},
      {{"plan", "x", "--swatchs", "6"},
       "frostcal: unknown option \"--swatchs\"; did you mean --swatches?\nFor help: frostcal plan --help\n"},
      {{"plan", "x", "--swat", "6"},
       "frostcal: unknown option \"--swat\"; did you mean --swatches?\nFor help: frostcal plan --help\n"},
      {{"table", "adopt", "x", "--resaon", "y"},
       "frostcal: unknown option \"--resaon\"; did you mean --reason?\nFor help: frostcal table adopt "
       "--help\n"},
      {{"plan", "x", "--swatches", "--seed", "1"},
       "frostcal: --swatches needs a value (N), found the option --seed\nFor help: frostcal plan --help\n"},
      {{"plan", "x", "--seed", "-1", "--shop", FROSTCAL_SOURCE_DIR},
       "frostcal: --seed: found \"-1\", expected a whole number from 0 to 1000000000\nFor help: frostcal "
       "plan "
       "--help\n"},
      {{"start", ""}, "frostcal: found \"\", expected DIR\nFor help: frostcal start --help\n"},
      {{"check", ""},
       "frostcal: found \"\", expected only options behind check\nFor help: frostcal check --help\n"},
      {{"plan", "--operand", "x"},
       "frostcal: unknown option \"--operand\"\nFor help: frostcal plan --help\n"},
      {{"plan", "--operand=x"}, "frostcal: unknown option \"--operand=x\"\nFor help: frostcal plan --help\n"},
  }));
  const Ran ran = run(words);
  CHECK(ran.status == 2);
  CHECK(ran.out == "");
  CHECK(ran.err == message);
}

TEST_CASE("the shop may be named before the command, in both spellings", "[cli]") {
  const Ran behind = run({"check", "--shop", "/no-such-folder"});
  CHECK_THAT(behind.err, Contains("/no-such-folder/grids/shop.toml"));
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"--shop", "/no-such-folder", "check"},
        {"--shop=/no-such-folder", "check"}}) {
    const Ran before = run(words);
    CHECK(before.status == behind.status);
    CHECK(before.out == behind.out);
    CHECK(before.err == behind.err);
  }
  CHECK(run({"--shop"}).status == 2);
  CHECK(run({"--shop=x"}).status == 2);
}

TEST_CASE("help is found by other words too", "[cli]") {
  const std::string help = run({"table", "adopt", "--help"}).out;
  REQUIRE_FALSE(help.empty());
  CHECK(run({"table", "adopt", "-h"}).out == help);
  CHECK(run({"help", "table", "adopt"}).out == help);
  CHECK(run({"-h"}).out == run({"--help"}).out);
  CHECK(run({"help"}).out == run({"--help"}).out);
}

TEST_CASE("a full disk under standard output is trouble", "[cli][program]") {
  if (!std::filesystem::exists("/dev/full")) {
    WARN("no /dev/full here: not tested");
    return;
  }
  const std::string program = FROSTCAL_PROGRAM;
  for (const char* words : {"--help", "--version", "plan --help", "check"}) {
    CAPTURE(words);
    const std::string line = "cd '" + std::string(FROSTCAL_SOURCE_DIR) + "' && '" + program + "' " + words +
                             " >/dev/full 2>/dev/null";
    const int status = std::system(line.c_str());
    CHECK(WEXITSTATUS(status) == 2);
  }
}
