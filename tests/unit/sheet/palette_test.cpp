#include "sheet/palette.hpp"

#include <catch2/catch.hpp>

#include "errors/user_error.hpp"

using namespace frostcal::sheet;
using Catch::Matchers::WithinAbs;

TEST_CASE("CIELAB of the sRGB primaries", "[sheet][palette]") {
  // Widely tabulated values for D65, from memory; they follow from IEC 61966-2-1 and CIE 15.
  const struct {
    Ink ink;
    double lightness, a, b;
  } kKnown[] = {{{255, 0, 0}, 53.24, 80.09, 67.20},
                {{0, 255, 0}, 87.73, -86.18, 83.18},
                {{0, 0, 255}, 32.30, 79.19, -107.86},
                {{255, 255, 255}, 100, 0, 0},
                {{119, 119, 119}, 50.03, 0, 0}};
  for (const auto& known : kKnown) {
    const auto place = lab(known.ink);
    CHECK_THAT(place[0], WithinAbs(known.lightness, 0.02));
    CHECK_THAT(place[1], WithinAbs(known.a, 0.03));
    CHECK_THAT(place[2], WithinAbs(known.b, 0.03));
  }
}

TEST_CASE("recipe fills are far apart, from white and from grey", "[sheet][palette]") {
  const auto sixteen = recipe_inks(16);
  REQUIRE(sixteen.size() == 16);
  CHECK(recipe_inks(1) == std::vector<Ink>{kBlack});
  for (std::size_t i = 0; i < sixteen.size(); ++i) {
    CHECK(colour_difference(sixteen[i], kWhite) > 25);
    const auto place = lab(sixteen[i]);
    CHECK(std::hypot(place[1], place[2]) >= 20);
    CHECK(std::hypot(place[1], place[2]) <= 55);
    for (std::size_t j = 0; j < i; ++j) CHECK(colour_difference(sixteen[i], sixteen[j]) > 25);
  }
  const auto more = recipe_inks(64);
  CHECK(std::equal(sixteen.begin(), sixteen.end(), more.begin()));
  for (std::size_t i = 0; i < more.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) CHECK(colour_difference(more[i], more[j]) > 8);
}

TEST_CASE("a driver's colour is read or refused", "[sheet][palette]") {
  CHECK(ink_from_text("#1a2B3c") == Ink{0x1A, 0x2B, 0x3C});
  for (const char* wrong : {"", "#12345", "1A2B3C0", "#1A2B3G", "#1234567", "#-12345"})
    CHECK_THROWS_AS(ink_from_text(wrong), frostcal::errors::UserError);
}
