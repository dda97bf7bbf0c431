#include "cli/message.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <sstream>

#include "support/program.hpp"

using namespace frostcal;
using cli::message_lines;

namespace {

std::size_t longest_line(const std::string& text) {
  std::size_t longest = 0;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) longest = std::max(longest, line.size());
  return longest;
}

}  // namespace

TEST_CASE("messages are broken at blanks, and go on indented", "[cli]") {
  CHECK(message_lines("short\n", 20) == "short\n");
  CHECK(message_lines("one two three four five\n", 12) == "one two\n    three\n    four\n    five\n");
  CHECK(message_lines("a\none two three\nb", 10) == "a\none two\n    three\nb");
  CHECK(message_lines("", 10).empty());
  CHECK(message_lines("run:  frostcal fit\n", 40) == "run:  frostcal fit\n");
}

TEST_CASE("the place and quoted values of a message stay whole", "[cli]") {
  const std::string place = "/home/our shop/grids/shop.toml:21:17: ";
  const std::string text = place + "machine.name: found \"a b c d e f g h i\", expected one name";
  const std::string lines = message_lines(text, 30);
  CHECK(lines.find(place.substr(0, place.size() - 1)) == 0);
  CHECK(lines.find("\"a b c d e f g h i\"") != std::string::npos);
  CHECK(test::unwrapped(lines) == text);
  CHECK(message_lines("an odd \" quote is a word", 12) == "an odd \"\n    quote is\n    a word");
  // 12 characters, more bytes.
  const std::string accents =
      "\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9 \xC3\xA9\xC3\xA9\xC3\xA9 \xC3\xA9\xC3\xA9\xC3\xA9";
  CHECK(message_lines(accents, 12) == accents);
}

TEST_CASE("words of a command to be copied are quoted where a shell would misread them", "[cli]") {
  // POSIX.1-2017, Shell Command Language, 2.2.2: single quotes keep all but themselves.
  CHECK(cli::shell_word("grids/0001-amber-jug") == "grids/0001-amber-jug");
  CHECK(cli::shell_word("J\xC3\xB6rg") == "J\xC3\xB6rg");
  CHECK(cli::shell_word("our shop") == "'our shop'");
  CHECK(cli::shell_word("Ann's $5") == "'Ann'\\''s $5'");
  CHECK(cli::shell_word("") == "''");
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
