#include "shop/shop_file.hpp"

#include <catch2/catch.hpp>

#include "errors/user_error.hpp"

using frostcal::errors::UserError;
using frostcal::shop::parse_shop;
using frostcal::shop::shop_template;

namespace {

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

std::string message(const std::string& text) {
  try {
    parse_shop(text, "shop.toml");
  } catch (const UserError& error) {
    return error.what();
  }
  return "no error";
}

}  // namespace

TEST_CASE("the template is a valid shop", "[shop]") {
  const auto shop = parse_shop(shop_template(), "shop.toml");
  CHECK(shop.name == "My shop");
  REQUIRE(shop.machines.size() == 1);
  CHECK(shop.machines[0].dpi == std::vector<int>{200, 250, 300, 400, 500, 600});
  CHECK(shop.machines[0].power_pct.values().size() == 96);
  CHECK(shop.machines[0].rotary.neck == frostcal::shop::Side::left);
  REQUIRE(shop.glasses.size() == 1);
  CHECK(shop.vessel(shop.glasses[0].vessel).seams == 2);
  CHECK(shop.acceptance.chance == 0.90);
}

TEST_CASE("each fault of shop.toml is named with its place", "[shop]") {
  struct Case {
    const char* from;
    const char* to;
    const char* expected;
  };
  const Case cases[] = {
      {"rated_power_w = 60 ", "rated_power_w = nan ",
       "shop.toml:22:17: machine.rated_power_w: found nan, expected a power in W from 0.5 to 2000"},
      {"rated_power_w = 60 ", "rated_power_w = -8.8 ", "machine.rated_power_w: found -8.8, expected a power"},
      {"top_speed_mm_s = 1200", "top_speed_mm_s = -3",
       "shop.toml:23:18: machine.top_speed_mm_s: found -3, expected a speed in mm/s from 1 to 20000"},
      {"rated_power_w = 60 ", "rated_power_w = 12,5 ", "write decimals with a point: 12.5, not 12,5"},
      {"rated_power_w = 60 ", "rated_power_w = 60W ", "write the number alone, without its unit: 60"},
      {"neck = \"left\"", "neck = \"up\"", "expected \"left\" or \"right\"; write one of these"},
      {"rated_power_w = 60 ", "rated_power_w = \"60\" ", "write the number alone, without quotes"},
      {"name = \"bench\"", "name = \"bench", "expected text between two double quotes; add the missing"},
      {"spot_mm", "spot_m",
       "shop.toml:24:1: machine.spot_m: found an unknown key, expected one of name, rated_power_w"},
      {"spot_mm", "spot_m", "did you mean spot_mm?"},
      {"name = \"amber-jug\"", "name = \"../amber\"",
       "glass.name: found \"../amber\", expected a name of letters a to z, digits, - and _"},
      {"vessel = \"tall-jug\"", "vessel = \"tall-jgu\"", "did you mean \"tall-jug\"?"},
      {"neck = \"left\"", "neck = \"lft\"", "did you mean \"left\"?"},
      {"# fills = [\"#1A3C6E\", \"#B5651D\"] ", "fills = [\"#1A3C6E\", \"#1a3c6e\"] ",
       "machine.fills: found \"#1a3c6e\" twice, expected each value once; remove the repeat"},
      {"# fills = [\"#1A3C6E\", \"#B5651D\"] ", "fills = [\"#B5651D\", \"#ffFFff\"] ",
       "machine.fills: found \"#ffFFff\", the white of the page, expected colours that show on white"},
      {"screens = [\"stucki\"]", "screens = [\"stucki\", \"none\", \"stucki\"]",
       "machine.screens: found \"stucki\" twice, expected each value once"},
      {"min = 5, max = 100", "min = 100, max = 5", "expected max at or above min"},
      {"dpi = [200, 250, 300, 400, 500, 600]", "dpi = []", "machine.dpi: found an empty list"},
      {"frost = 4 ", "frost = 7 ", "acceptance.frost: found 7, expected a frost grade from 1 to 5"},
      {"[[machine]] ", "[machine] ", "write [[machine]] with two brackets"},
  };
  for (const Case& test : cases) {
    CAPTURE(test.from, test.to);
    CHECK_THAT(message(replaced(shop_template(), test.from, test.to)),
               Catch::Matchers::Contains(test.expected));
  }
}

TEST_CASE("a shop in inches prints on Letter unless it says otherwise", "[shop]") {
  const auto paper = [](const std::string& lines) {
    return parse_shop(replaced(shop_template(), "units = \"mm\"", lines), "shop.toml").paper;
  };
  CHECK(paper("units = \"mm\"") == frostcal::shop::Paper::a4);
  CHECK(paper("units = \"in\"") == frostcal::shop::Paper::letter);
  CHECK(paper("units = \"in\"\npaper = \"a4\"") == frostcal::shop::Paper::a4);
  CHECK(paper("paper = \"letter\"") == frostcal::shop::Paper::letter);
  CHECK_THAT(message(replaced(shop_template(), "units = \"mm\"", "paper = \"A3\"")),
             Catch::Matchers::Contains("paper: found \"A3\""));
}

TEST_CASE("values that look like slips are taken and doubted", "[shop]") {
  CHECK(parse_shop(shop_template(), "shop.toml").doubts.empty());
  struct Case {
    const char* from;
    const char* to;
    const char* expected;
  };
  // What is usual: common practice, no source. 25.4 mm to the inch.
  const Case cases[] = {
      {"panel_mm = 95.0", "panel_mm = 9.5",
       "shop.toml:41:12: vessel.panel_mm: found 9.5, expected 20 to 500 as a rule (common practice, no "
       "source); was it meant in cm, which is 95, or in inches, which is 241.3? If it is right, leave it"},
      {"diameter_mm = 88.0", "diameter_mm = 13.5", "vessel.diameter_mm: found 13.5, expected 25 to 300"},
      {"diameter_mm = 88.0", "diameter_mm = { at_neck = 12.0, at_base = 88.0 }",
       "vessel.diameter_mm.at_neck: found 12, "},
      {"max_length_mm = 300", "max_length_mm = 30", "rotary.max_length_mm: found 30, expected 100 to 1500"},
      {"spot_mm = 0.12", "spot_mm = 1.2", "machine.spot_mm: found 1.2, expected 0.04 to 0.5"},
      {"top_speed_mm_s = 1200", "top_speed_mm_s = 1.2", "was it meant in m/s, which is 1200?"},
      {"rated_power_w = 60", "rated_power_w = 0.5", "was it meant in kW, which is 500?"},
      {"turnaround_s = 0.05", "turnaround_s = 5", "machine.turnaround_s: found 5, "},
      {"dpi = [200,", "dpi = [24,", "was it meant per mm, which is 609.6"},
      {"screens = [\"stucki\"]", "screens = [\"stukci\"]",
       "machine.screens: found \"stukci\", expected one that can be drawn: floyd-steinberg, "
       "jarvis-judice-ninke, stucki, bayer; did you mean \"stucki\"?"},
      {"recipes_per_burn = 16 ", "recipes_per_burn = 100 ",
       "machine.recipes_per_burn: found 100, expected at most 64, the colours drawn where fills names none"},
      {"screens = [\"stucki\"]", "screens = [\"newspaper\"]",
       "grey tones of several recipes in one burn can't be drawn with it"},
  };
  for (const Case& test : cases) {
    CAPTURE(test.from, test.to);
    const auto shop = parse_shop(replaced(shop_template(), test.from, test.to), "shop.toml");
    REQUIRE(shop.doubts.size() == 1);
    CHECK_THAT(to_text(shop.doubts[0]), Catch::Matchers::Contains(test.expected));
  }
  CHECK(parse_shop(replaced(shop_template(), "screens = [\"stucki\"]", "screens = [\"none\"]"), "shop.toml")
            .doubts.empty());
}

TEST_CASE("a shop without machines, an empty file and several faults at once", "[shop]") {
  CHECK_THAT(message("[shop]\nname = \"a\"\n"), Catch::Matchers::Contains("found no machine"));
  CHECK_THAT(message(""), Catch::Matchers::Contains("expected a [shop] section with a name"));
  const std::string text = replaced(replaced(shop_template(), "= 60 ", "= 0 "), "seams = 2", "seams = 2.5");
  CHECK_THAT(message(text), Catch::Matchers::Contains("rated_power_w") && Catch::Matchers::Contains("seams"));
}

TEST_CASE("a taper, a power curve and grade words are read", "[shop]") {
  std::string text =
      replaced(shop_template(), "diameter_mm = 88.0 ", "diameter_mm = { at_neck = 80.0, at_base = 88.0 } ");
  text = replaced(text, "# measured_power_w", "measured_power_w");
  const auto shop = parse_shop(text, "shop.toml");
  CHECK(shop.vessels[0].tapers());
  CHECK(shop.vessels[0].diameter_mm(0) == 84.0);
  CHECK(shop.vessels[0].diameter_mm(-47.5) == 80.0);
  CHECK(shop.machines[0].delivered_power_w(5) == 2.4);
  CHECK(shop.machines[0].delivered_power_w(30) == Approx(17.9).epsilon(1e-12));
}

TEST_CASE("an unknown glass lists the known ones", "[shop]") {
  const auto shop = parse_shop(shop_template(), "shop.toml");
  try {
    shop.glass("amber-jgu");
    FAIL("nothing thrown");
  } catch (const UserError& error) {
    CHECK_THAT(error.what(), Catch::Matchers::Contains("did you mean amber-jug?"));
  }
}
