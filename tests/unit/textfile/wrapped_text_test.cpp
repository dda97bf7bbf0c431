#include "textfile/wrapped_text.hpp"

#include <catch2/catch.hpp>

#include "support/program.hpp"

using namespace frostcal;
using textfile::wrapped;

TEST_CASE("lines are broken at blanks, and go on indented", "[textfile]") {
  CHECK(wrapped("short\n", 20, 4) == "short\n");
  CHECK(wrapped("one two three four five\n", 12, 4) == "one two\n    three\n    four\n    five\n");
  CHECK(wrapped("a\none two three\nb", 10, 4) == "a\none two\n    three\nb");
  CHECK(wrapped("", 10, 4).empty());
  CHECK(wrapped("\n\n", 10, 4) == "\n\n");
  CHECK(wrapped("one two", 3, 0) == "one\ntwo");
  CHECK(wrapped("one  two   three", 9, 0) == "one  two\nthree");  // blanks stay, except where the line ends
  CHECK(wrapped("  - one two", 7, 4) == "  - one\n    two");
  CHECK(wrapped("  label onlyword", 8, 8) == "  label onlyword");  // a label keeps its first word
  // 12 characters, more bytes.
  const std::string accents =
      "\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9 \xC3\xA9\xC3\xA9\xC3\xA9 \xC3\xA9\xC3\xA9\xC3\xA9";
  CHECK(wrapped(accents, 12, 4) == accents);
}

TEST_CASE("the place and quoted values of a message stay whole", "[textfile]") {
  const std::string place = "/home/our shop/grids/shop.toml:21:17: ";
  const std::string text = place + "machine.name: found \"a b c d e f g h i\", expected one name";
  const std::string lines = wrapped(text, 30, 4);
  CHECK(lines.find(place.substr(0, place.size() - 1)) == 0);
  CHECK(lines.find("\"a b c d e f g h i\"") != std::string::npos);
  CHECK(test::unwrapped(lines) == text);
  CHECK(wrapped("an odd \" quote is a word", 12, 4) == "an odd \"\n    quote is\n    a word");
  CHECK(wrapped("a label    \"a b c d e\" f", 12, 11) == "a label    \"a b c d e\"\n           f");
  // No places: speeds with their units, behind which a colon comes.
  CHECK(wrapped("at 20 mm/s, or less: slow", 12, 0) == "at 20 mm/s,\nor less:\nslow");
  CHECK(wrapped("  at 20 mm/s or less: slow", 14, 0) == "  at 20 mm/s\nor less: slow");
}

TEST_CASE("a command to be copied stays whole", "[textfile]") {
  CHECK(wrapped("run:  frostcal fit\n", 40, 4) == "run:  frostcal fit\n");
  CHECK(wrapped("burn a grid:  frostcal plan amber-jug", 20, 2) == "burn a grid:\n  frostcal plan amber-jug");
  CHECK(wrapped("first:  frostcal plan x  and then go on", 20, 2) ==
        "first:\n  frostcal plan x\n  and then go on");
  CHECK(wrapped("Next      frostcal plan amber-jug", 20, 10) == "Next      frostcal plan amber-jug");
  CHECK(wrapped("by itself frostcal plans nothing", 20, 0) == "by itself frostcal\nplans nothing");
}
