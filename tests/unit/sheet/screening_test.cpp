#include "sheet/screening.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "errors/bug.hpp"
#include "shop/setting.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/number_text.hpp"

using namespace frostcal::sheet;
namespace textfile = frostcal::textfile;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {
textfile::CsvTable published(const std::string& name, const std::vector<std::string>& columns) {
  std::ifstream file(std::filesystem::path(FROSTCAL_TEST_DATA) / name, std::ios::binary);
  const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  frostcal::errors::FaultList faults;
  textfile::CsvTable table = textfile::read_csv(text, name, {columns, {}}, faults);
  faults.throw_if_any();
  return table;
}
double number(const textfile::CsvCell& cell) {
  return textfile::parse_number(cell.text).value_or(0);
}

Screen screen_of(const std::string& published_name) {
  for (const std::string& name : frostcal::shop::drawn_screens())
    if (published_name.rfind(name, 0) == 0) return *screen_named(name);
  FAIL("unknown screen " << published_name);
  return Screen::bayer;
}
}  // namespace

TEST_CASE("screens give the published patterns dot by dot", "[sheet][screening]") {
  const auto table = published("screening.csv", {"method", "grey", "side", "dots", "rows", "source"});
  REQUIRE(table.rows.size() == 20);
  for (const auto& row : table.rows) {
    INFO(row.cell(0).text << " at " << row.cell(1).text);
    const int side = static_cast<int>(number(row.cell(2)));
    const DotPattern pattern = screened(screen_of(row.cell(0).text), number(row.cell(1)), side, side);
    std::string drawn;
    int dots = 0;
    for (int y = 0; y < side; ++y) {
      if (y > 0) drawn += '|';
      for (int x = 0; x < side; ++x) {
        drawn += pattern.dot(x, y) ? '1' : '0';
        dots += pattern.dot(x, y) ? 1 : 0;
      }
    }
    CHECK(drawn == row.cell(4).text);
    CHECK(dots == static_cast<int>(number(row.cell(3))));
  }
}

TEST_CASE("the ordered screen sets dots in the order of Bayer's matrix", "[sheet][screening]") {
  const auto table =
      published("bayer_matrix.csv", {"c0", "c1", "c2", "c3", "c4", "c5", "c6", "c7", "source"});
  REQUIRE(table.rows.size() == 8);
  for (int y = 0; y < 8; ++y)
    for (int x = 0; x < 8; ++x) {
      const double index = number(table.rows[static_cast<std::size_t>(y)].cell(static_cast<std::size_t>(x)));
      CHECK_FALSE(screened(Screen::bayer, index / 64, 8, 8).dot(x, y));
      CHECK(screened(Screen::bayer, (index + 1) / 64, 8, 8).dot(x, y));
    }
}

TEST_CASE("radial spectrum of the published patterns", "[sheet][screening]") {
  const auto table = published(
      "radial_spectrum.csv", {"method", "grey", "side", "ring", "samples", "power", "anisotropy", "source"});
  REQUIRE(table.rows.size() == 24);
  for (const auto& row : table.rows) {
    const int side = static_cast<int>(number(row.cell(2)));
    const auto rings =
        radial_spectrum(screened(screen_of(row.cell(0).text), number(row.cell(1)), side, side));
    const auto& ring = rings.at(static_cast<std::size_t>(number(row.cell(3))) - 1);
    INFO(row.cell(0).text << " ring " << ring.ring);
    CHECK(ring.samples == static_cast<int>(number(row.cell(4))));
    // Eight printed digits; an ordered screen's empty rings are 0.
    CHECK_THAT(ring.power, WithinRel(number(row.cell(5)), 1e-7) || WithinAbs(number(row.cell(5)), 1e-12));
    CHECK_THAT(ring.anisotropy,
               WithinRel(number(row.cell(6)), 1e-7) || WithinAbs(number(row.cell(6)), 1e-12));
  }
}

TEST_CASE("clumps are told from an even tone", "[sheet][screening]") {
  DotPattern stripes{32, 32, {}};
  for (int i = 0; i < 32 * 32; ++i) stripes.dots.push_back(i % 32 / 8 % 2 == 0 ? 1 : 0);
  CHECK(low_frequency_share(stripes) > 0.8);
  CHECK(low_frequency_share(screened(Screen::bayer, 0.5, 32, 32)) < 1e-12);
  CHECK(low_frequency_share(screened(Screen::floyd_steinberg, 0.3, 64, 64)) < 0.1);
}

TEST_CASE("extreme tones and wrong arguments", "[sheet][screening]") {
  for (const std::string& name : frostcal::shop::drawn_screens()) {
    CHECK(screened(*screen_named(name), 1, 9, 7).tone() == 1);
    CHECK(screened(*screen_named(name), 0, 9, 7).tone() == 0);
  }
  CHECK(radial_spectrum(screened(Screen::stucki, 1, 8, 8)).empty());
  CHECK_FALSE(screen_named("newspaper"));
  CHECK_THROWS_AS(screened(Screen::stucki, 1.1, 8, 8), frostcal::errors::Bug);
  CHECK_THROWS_AS(screened(Screen::stucki, 0.5, 0, 8), frostcal::errors::Bug);
}

TEST_CASE("a swatch's dots have the tone of large art, light tones too", "[sheet][screening]") {
  for (const Screen screen :
       {Screen::floyd_steinberg, Screen::jarvis_judice_ninke, Screen::stucki, Screen::bayer})
    for (const double tone : {0.05, 0.10, 0.15, 0.20, 0.35, 0.5, 0.65, 0.8, 0.95})
      for (const int side : {49, 79, 126}) {  // 5 mm at 250 and 400 dpi, 8 mm at 400 dpi
        CAPTURE(static_cast<int>(screen), tone, side);
        // Large art of an ordered screen has a whole number of the 64 thresholds (M + 0.5) / 64 under its
        // tone.
        double large = tone;
        if (screen == Screen::bayer) large = std::ceil(64 * tone - 0.5) / 64;
        const DotPattern swatch = cut_from_large_art(screen, tone, side, side);
        REQUIRE(swatch.columns == side);
        REQUIRE(swatch.rows == side);
        double dots = 0;
        double upper = 0;
        double left = 0;
        for (int y = 0; y < side; ++y)
          for (int x = 0; x < side; ++x) {
            const double dot = swatch.dot(x, y) ? 1 : 0;
            dots += dot;
            if (y < 16) upper += dot;
            if (x < 16) left += dot;
          }
        CHECK_THAT(dots / side / side, WithinRel(large, 0.015));
        // Along its edges as within: in a strip of 16 pixels to 10 % of the dots (or those left out).
        CHECK_THAT(upper / side / 16, WithinAbs(large, 0.1 * std::min(large, 1 - large) + 0.01));
        CHECK_THAT(left / side / 16, WithinAbs(large, 0.1 * std::min(large, 1 - large) + 0.01));
      }
}
