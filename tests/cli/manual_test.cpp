// Man pages and completions name what --help names, no more and no less.
#include <algorithm>
#include <catch2/catch.hpp>
#include <regex>
#include <set>
#include <sstream>

#include "cli/command_list.hpp"
#include "cli/manual_text.hpp"
#include "cli/parse_arguments.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;

namespace {

std::set<std::string> expected_options(const cli::Command& command) {
  std::set<std::string> names;
  for (const cli::OptionText& option : command.options) names.insert(option.name);
  for (const cli::OptionText& option : cli::common_options()) names.insert(option.name);
  return names;
}

std::set<std::string> matches(const std::string& text, const std::string& pattern) {
  const std::regex expression(pattern);
  std::set<std::string> found;
  for (std::sregex_iterator it(text.begin(), text.end(), expression), end; it != end; ++it)
    found.insert((*it)[1]);
  return found;
}

// The part of a completion between "    'NAME')" and the ";;" that stands alone.
std::string branch(const std::string& script, const std::string& name) {
  const std::size_t start = script.find("    '" + name + "')\n");
  return start == std::string::npos ? "" : script.substr(start, script.find("\n      ;;\n", start) - start);
}

}  // namespace

TEST_CASE("help, man page and both completions name the same options", "[cli][manual]") {
  const std::string bash = cli::bash_completion();
  const std::string zsh = cli::zsh_completion();
  for (const cli::Command& command : cli::command_list()) {
    CAPTURE(command.name);
    const std::set<std::string> expected = expected_options(command);
    CHECK(matches(cli::help_text(command), "\n  --([a-z-]+)") == expected);
    std::set<std::string> in_manual;
    for (std::string name :
         matches(cli::manual_page(command, "1", "2026-11-25"), "\n\\.BR \\\\-\\\\-([a-z\\\\-]+)")) {
      name.erase(std::remove(name.begin(), name.end(), '\\'), name.end());
      in_manual.insert(name);
    }
    CHECK(in_manual == expected);
    const std::set<std::string> list = matches(branch(bash, command.name), "-W '(--[a-z -]+)'");
    REQUIRE(list.size() == 1);
    CHECK(matches(*list.begin(), "--([a-z-]+)") == expected);
    CHECK(matches(branch(zsh, command.name), "'\\*?--([a-z-]+)=?\\[") == expected);
  }
}

TEST_CASE("the overview page names every command", "[cli][manual]") {
  const std::string page = cli::overview_page("1", "2026-11-25");
  for (const cli::Command& command : cli::command_list())
    CHECK_THAT(page, Contains("\n.B " + command.name + '\n'));
}
