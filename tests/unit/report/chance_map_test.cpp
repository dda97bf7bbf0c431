#include "report/chance_map.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <sstream>

#include "errors/bug.hpp"
#include "report/colour_map.hpp"
#include "report/map_text.hpp"
#include "sheet/pdf_writer.hpp"
#include "support/rendered_page.hpp"
#include "unit/report/page_samples.hpp"

using namespace frostcal::report;
using Catch::Matchers::WithinAbs;
using frostcal::report::test::ridge;
using frostcal::report::test::ridge_map;

TEST_CASE("between the nodes the chance is linear in the logarithms", "[report][map]") {
  ChanceMap map;
  map.power_pct = {10, 40};
  map.speed_pct = {20, 80};
  map.chance = {0, 0.4, 0.2, 1};
  CHECK_THAT(chance_at(map, 10, 20), WithinAbs(0, 1e-12));
  CHECK_THAT(chance_at(map, 40, 80), WithinAbs(1, 1e-12));
  CHECK_THAT(chance_at(map, 20, 20), WithinAbs(0.2, 1e-12));
  CHECK_THAT(chance_at(map, 20, 40), WithinAbs(0.4, 1e-12));
  CHECK_THAT(chance_at(map, 5, 200), WithinAbs(0.2, 1e-12));  // clamped to the corner
}

TEST_CASE("the drawn map has the chance's colour, and a heavy line on the target", "[report][map]") {
  ChanceMap map = ridge_map(300);
  map.swatches.clear();
  map.best.reset();
  frostcal::sheet::Page page(100, 80);
  draw_chance_map(page, map, 0.9, 0, 80, 100, 80);
  const std::string pdf = frostcal::sheet::to_pdf({"map", "en", std::nullopt, {page}});
  const auto raster = frostcal::test::render(frostcal::test::Renderer::poppler, pdf, 1, 254);
  // The plot lies from (11, 9) to (97, 74).
  const auto place = [](double power, double speed) {
    return std::pair{11 + 86 * std::log10(power / 10), 9 + 65 * std::log10(speed / 8)};
  };
  for (const auto& [power, speed] : {std::pair{12.0, 60.0}, {90.0, 10.0}, {85.0, 63.0}}) {
    const auto [x, y] = place(power, speed);
    const auto seen = raster.at_mm(x, y, 254);
    const auto ink = cividis(chance_at(map, power, speed));
    CHECK_THAT(seen[0], WithinAbs(ink.red, 6));
    CHECK_THAT(seen[1], WithinAbs(ink.green, 6));
    CHECK_THAT(seen[2], WithinAbs(ink.blue, 6));
  }
  // Up the line of 70 % power: the black stretches that are wider than a thin contour are the target's.
  int heavy = 0;
  int run = 0;
  for (double speed = 8.2; speed < 79; speed *= 1.0005) {
    const auto [x, y] = place(70, speed);
    const bool black = raster.at_mm(x, y, 254)[0] < 5 && raster.at_mm(x, y, 254)[2] < 5;
    if (!black && run > 0) {
      const double mm = run * 65 * std::log10(1.0005);
      if (mm > 0.8) {
        ++heavy;
        CHECK_THAT(ridge(70, speed / std::pow(1.0005, run / 2.0), 300), WithinAbs(0.9, 0.03));
      }
    }
    run = black ? run + 1 : 0;
  }
  CHECK(heavy == 2);
}

TEST_CASE("a map that is malformed is our fault", "[report][map]") {
  frostcal::sheet::Page page(100, 80);
  ChanceMap map = ridge_map(300);
  map.chance.pop_back();
  CHECK_THROWS_AS(draw_chance_map(page, map, 0.9, 0, 80, 100, 80), frostcal::errors::Bug);
}

TEST_CASE("the terminal's map shows tenths, the target, swatches and the best setting", "[report][map]") {
  MapTextOptions options;
  options.columns = 20;
  options.rows = 10;
  const ChanceMap map = ridge_map(300);
  const std::string text = map_text(map, options);
  std::istringstream lines(text);
  std::string line;
  std::getline(lines, line);
  CHECK(line == "300 dpi");
  std::getline(lines, line);
  int best = 0;
  int swatches = 0;
  for (int row = 0; row < 10; ++row) {
    std::getline(lines, line);
    CHECK(line.size() <= 7 + 40);
    line.resize(47, ' ');
    for (int column = 0; column < 20; ++column) {
      const double power = 10 * std::pow(10, (column + 0.5) / 20);
      const double speed = 8 * std::pow(10, 1 - (row + 0.5) / 10);
      const double chance = chance_at(map, power, speed);
      const int tenths = static_cast<int>(chance * 10);
      CHECK(line[static_cast<std::size_t>(7 + 2 * column)] == (tenths == 0 ? '.' : '0' + tenths));
      const char sign = line[static_cast<std::size_t>(8 + 2 * column)];
      if (sign == '+') CHECK(chance >= 0.9);
      if (sign == ' ') CHECK(chance < 0.9);
      best += sign == '*' ? 1 : 0;
      swatches += sign == 'o' ? 1 : 0;
    }
  }
  CHECK(best == 1);
  CHECK(swatches == 2);  // the other two lie under the best setting
  for (const char c : text) CHECK(static_cast<unsigned char>(c) < 0x80);
  options.utf8 = true;
  CHECK(map_text(map, options).find("\u2502") != std::string::npos);
}
