#include "cli/message.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <sstream>

#include "support/program.hpp"
#include "textfile/shell_word.hpp"

using namespace frostcal;

namespace {

std::size_t longest_line(const std::string& text) {
  std::size_t longest = 0;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) longest = std::max(longest, line.size());
  return longest;
}

}  // namespace

TEST_CASE("words of a command to be copied are quoted where a shell would misread them", "[cli]") {
  // POSIX.1-2017, Shell Command Language, 2.2.2: single quotes keep all but themselves.
  CHECK(textfile::shell_word("grids/0001-amber-jug") == "grids/0001-amber-jug");
  CHECK(textfile::shell_word("J\xC3\xB6rg") == "J\xC3\xB6rg");
  CHECK(textfile::shell_word("our shop") == "'our shop'");
  CHECK(textfile::shell_word("Ann's $5") == "'Ann'\\''s $5'");
  CHECK(textfile::shell_word("") == "''");
}

TEST_CASE("no message of the program is wider than 100 characters where it can be broken", "[cli]") {
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"plan", "x", "--spend", "never"},
        {"table", "--shop", "/no/such/shop"},
        {"plan", "x", "--design", "none", "--shop", std::string(FROSTCAL_SOURCE_DIR)}}) {
    const test::Outcome ran = test::run_program(words);
    CAPTURE(ran.raw_err);
    CHECK(ran.status == 2);
    CHECK(ran.raw_err.size() > 100);
    CHECK(longest_line(ran.raw_err) <= 100);
  }
}
