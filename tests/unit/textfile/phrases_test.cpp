#include "textfile/phrases.hpp"

#include <catch2/catch.hpp>

using namespace frostcal::textfile;

TEST_CASE("words are joined and counted", "[textfile]") {
  CHECK(joined({}) == "");
  CHECK(joined({"a"}) == "a");
  CHECK(joined({"a", "", "c"}) == "a, , c");
  CHECK(joined({"a", "b"}, " ") == "a b");
  CHECK(listed({}).empty());
  CHECK(listed({"a"}) == "a");
  CHECK(listed({"a", "b", "c"}) == "a, b and c");
  CHECK(counted(0, "swatch", "swatches") == "0 swatches");
  CHECK(counted(1, "swatch", "swatches") == "1 swatch");
  CHECK(counted(2, "swatch", "swatches") == "2 swatches");
}

TEST_CASE("a value under a bar never reads as the bar", "[textfile]") {
  CHECK(number_under(0.84, 0.9) == "0.84");
  CHECK(number_under(0.8996, 0.9) == "0.8996");
  CHECK(number_under(0.9951, 0.996) == "0.9951");
  CHECK(number_under(0.995, 0.996) == "0.99");
  CHECK(number_under(0.99598, 0.996) == "0.995980");
  CHECK(shown_bar(0.9) == "0.90");
  CHECK(shown_bar(0.85) == "0.85");
  CHECK(shown_bar(0.996) == "0.996");
  CHECK(shown_bar(0.996 - 0.3) == "0.696");
  CHECK(shown_bar(0.9995) == "0.9995");
}

TEST_CASE("labels stand in one column", "[textfile]") {
  CHECK(labelled_line("Burn", "3 min") == "  Burn          3 min\n");
  CHECK(labelled_line("", "more") == "                more\n");
  CHECK(labelled_line("Seen", "") == "  Seen          \n");
  const std::string full(84, 'x');
  CHECK(labelled_line("Seen", full) == "  Seen          " + full + '\n');
  CHECK(labelled_line("Seen", full + " y") == "  Seen          " + full + "\n                y\n");
  CHECK(with_interval(0.934, 0.8, 1) == "0.93 (90 %: 0.80 to >0.99)");
  CHECK(with_interval(0.034, 0.0001, 0.0004) == "0.03 (90 %: <0.01 to 0.03)");  // skewed: as far as the mean
  CHECK(with_interval(0.96, 0.98, 1) == "0.96 (90 %: 0.96 to >0.99)");
  CHECK(with_interval(0.96, 0.94, 0.9951) == "0.96 (90 %: 0.94 to >0.99)");
  CHECK(shown_chance(0.9949) == "0.99");
  CHECK(shown_chance(0.004) == "<0.01");
  CHECK(shown_chance(0) == "0.00");
  CHECK(shown_chance(1) == ">0.99");  // 0.99996 in a file of four decimals
}
