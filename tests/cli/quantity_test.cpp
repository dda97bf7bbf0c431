#include "cli/quantity.hpp"

#include <catch2/catch.hpp>

#include "cli/art_option.hpp"
#include "cli/command.hpp"

using namespace frostcal;
using namespace frostcal::cli;

// 25.4 mm to the inch, 60 minutes to the hour.
TEST_CASE("amounts are read with and without their unit, in any case", "[cli]") {
  struct Case {
    const char* text;
    Unit unit;
    double amount;
  };
  const Case cases[] = {{"20", Unit::minutes, 20},
                        {"20MIN", Unit::minutes, 20},
                        {"1h", Unit::minutes, 60},
                        {"1.5 Hours", Unit::minutes, 90},
                        {"90s", Unit::minutes, 1.5},
                        {"1h20min", Unit::minutes, 80},
                        {"8 m 24 s", Unit::minutes, 8.4},
                        {"60%", Unit::percent, 60},
                        {"60 PCT", Unit::percent, 60},
                        {"8mm", Unit::mm, 8},
                        {"0.8CM", Unit::mm, 8},
                        {"3in", Unit::mm, 76.2},
                        {"3\"", Unit::mm, 76.2},
                        {"3", Unit::inch, 3},
                        {"76.2mm", Unit::inch, 3},
                        {"300DPI", Unit::dpi, 300},
                        {"18 Swatches", Unit::swatches, 18},
                        {"1e3", Unit::none, 1000},
                        {"-3", Unit::none, -3}};
  for (const Case& one : cases) {
    CAPTURE(one.text);
    REQUIRE(read_amount(one.text, one.unit));
    CHECK(*read_amount(one.text, one.unit) == Approx(one.amount).epsilon(1e-12));
  }
  for (const char* text :
       {"", "min", "20 kg", "20min min", "1,5", "nan", "inf", "0x10", "20min-5min", "h1"}) {
    CAPTURE(text);
    CHECK_FALSE(read_amount(text, Unit::minutes));
  }
  CHECK_FALSE(read_amount("60%", Unit::mm));
  CHECK_FALSE(read_amount("3in2in", Unit::mm));
  CHECK_FALSE(read_amount("60 mm", Unit::none));
}

TEST_CASE("two amounts are read with a cross between them", "[cli]") {
  const std::pair<double, double> art{60, 40};
  for (const char* text :
       {"60x40", "60X40", " 60 x 40 ", "60x40mm", "60mm X 40MM", "6cm x 40mm", "6x4cm", "60,0x40,0",
        "60\xC3\x97"
        "40"}) {
    CAPTURE(text);
    REQUIRE(read_pair(text, Unit::mm));
    CHECK(read_pair(text, Unit::mm)->first == Approx(art.first).epsilon(1e-12));
    CHECK(read_pair(text, Unit::mm)->second == Approx(art.second).epsilon(1e-12));
  }
  CHECK(read_pair("3x2in", Unit::mm)->first == Approx(76.2).epsilon(1e-12));
  CHECK(read_pair("3x50.8mm", Unit::inch)->second == Approx(2).epsilon(1e-12));
  CHECK(*read_pair("6X6", Unit::none) == std::make_pair(6.0, 6.0));
  for (const char* text : {"", "60", "x40", "60x", "60x40x2", "60xfour", "60kgx40", "1e2x"}) {
    CAPTURE(text);
    CHECK_FALSE(read_pair(text, Unit::mm));
  }
}

TEST_CASE("art is given in the shop's unit unless it names its own", "[cli]") {
  Arguments arguments;
  arguments.known = {"art", "units"};
  const auto art = [&](const std::string& text, shop::LengthUnit units) {
    arguments.values["art"] = {text};
    return read_art(arguments, units);
  };
  CHECK(art("3x2", shop::LengthUnit::inch).width_mm == Approx(76.2).epsilon(1e-12));
  CHECK(art("3X2IN", shop::LengthUnit::mm).height_mm == Approx(50.8).epsilon(1e-12));
  CHECK(art("60x40mm", shop::LengthUnit::inch).width_mm == Approx(60).epsilon(1e-12));
  CHECK(art("76,2x50", shop::LengthUnit::mm).width_mm == Approx(76.2).epsilon(1e-12));
  CHECK_THROWS_AS(art("60 40", shop::LengthUnit::mm), UsageError);
  arguments.values["units"] = {"IN"};
  CHECK(read_units(arguments, shop::LengthUnit::mm) == shop::LengthUnit::inch);
}
