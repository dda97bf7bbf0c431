#include "textfile/number_text.hpp"

#include <catch2/catch.hpp>
#include <limits>

#include "errors/bug.hpp"

using namespace frostcal;
using namespace frostcal::textfile;

TEST_CASE("numbers are read whole, with point or comma", "[textfile][number_text]") {
  CHECK(parse_number("12.5") == 12.5);
  CHECK(parse_number("12,5") == 12.5);
  CHECK(parse_number(" -0,25\t") == -0.25);
  CHECK(parse_number("+5") == 5.0);
  CHECK(parse_number("1e-3") == 0.001);
  CHECK(parse_number("1.23456789012346E+018") == 1.23456789012346e18);
  for (const char* text :
       {"",     " ",     "four",   "12mm", "0x10", "1.234,5", "1,234.5", "1,234,5", "inf",   "nan",
        "-inf", "1e400", "1e-400", "+-5",  "--5",  ",5",      "5,",      "1 234",   "1'234", "."}) {
    INFO(text);
    CHECK_FALSE(parse_number(text));
    CHECK_FALSE(read_number(text).remedy.empty());
  }
}

TEST_CASE("the reason why a text is no number helps", "[textfile][number_text]") {
  CHECK(read_number("1.234,5").remedy ==
        "write it without thousands separators, with a point for the decimals");
  CHECK(read_number("12mm").remedy == "write the number alone, without a unit");
  CHECK(read_number("four").remedy == "write a number in digits");
  CHECK(read_number("nan").remedy != "");
}

TEST_CASE("whole numbers may carry a decimal zero", "[textfile][number_text]") {
  CHECK(parse_integer("4") == 4);
  CHECK(parse_integer("4.0") == 4);
  CHECK(parse_integer("4,0") == 4);
  CHECK(parse_integer("-3") == -3);
  CHECK_FALSE(parse_integer("4.5"));
  CHECK_FALSE(parse_integer("1e16"));
  CHECK_FALSE(parse_integer("four"));
}

TEST_CASE("numbers are never written with three decimals or a negative zero", "[textfile][number_text]") {
  CHECK(format_fixed(12.625, 2) == "12.62");  // halves go to even: 12.625 is exact in binary
  CHECK(format_fixed(0.935, 4) == "0.9350");
  CHECK(format_fixed(-0.0001, 2) == "0.00");
  CHECK(format_fixed(-0.0, 0) == "0");
  CHECK(format_fixed(100000, 0) == "100000");
  CHECK_THROWS_AS(format_fixed(1, 3), errors::Bug);
  CHECK_THROWS_AS(format_fixed(std::numeric_limits<double>::infinity(), 2), errors::Bug);
  CHECK(format_number(5) == "5");
  CHECK(format_number(0.125) == "0.1250");
  CHECK(format_number(12.5) == "12.5");
  CHECK(format_number(100) == "100");
  CHECK(format_number(-0.00001) == "0");
  for (int i = 0; i < 2000; ++i) {
    const std::string text = format_number(i / 1000.0);
    const std::size_t point = text.find('.');
    if (point != std::string::npos) CHECK(text.size() - point - 1 != 3);
    CHECK(parse_number(text) == i / 1000.0);
  }
}
