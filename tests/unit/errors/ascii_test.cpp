#include "errors/ascii.hpp"

#include <catch2/catch.hpp>

using namespace frostcal::errors;

TEST_CASE("only the 26 letters have a case, and accents keep their bytes", "[errors]") {
  CHECK(to_lower("AMZ amz 09 @[`{") == "amz amz 09 @[`{");
  CHECK(to_upper("AMZ amz 09 @[`{") == "AMZ AMZ 09 @[`{");
  CHECK(to_lower("J\xC3\x96RG") == "j\xC3\x96rg");
  CHECK(to_upper("j\xC3\xB6rg") == "J\xC3\xB6RG");
  CHECK(to_lower("").empty());
}

TEST_CASE("blanks go at both ends, not between words", "[errors]") {
  CHECK(trimmed(" \t a  b\r\n") == "a  b");
  CHECK(trimmed("a") == "a");
  CHECK(trimmed(" \t\r\n").empty());
  CHECK(trimmed("").empty());
}

TEST_CASE("letters and digits end where ASCII's do", "[errors]") {
  // The neighbours of each range by the ASCII code chart (ANSI X3.4-1986, from memory).
  for (const char c : {'A', 'Z', 'a', 'z'}) {
    CHECK(is_letter(c));
    CHECK(is_letter_or_digit(c));
  }
  for (const char c : {'@', '[', '`', '{', '/', ':', '\xC3', '\0'}) {
    CHECK_FALSE(is_letter(c));
    CHECK_FALSE(is_digit(c));
    CHECK_FALSE(is_letter_or_digit(c));
  }
  for (const char c : {'0', '9'}) {
    CHECK(is_digit(c));
    CHECK_FALSE(is_letter(c));
    CHECK(is_letter_or_digit(c));
  }
}
