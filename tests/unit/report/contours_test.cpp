#include "report/contours.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "errors/bug.hpp"
#include "report/axis.hpp"
#include "report/colour_map.hpp"
#include "sheet/palette.hpp"

using namespace frostcal::report;
using Catch::Matchers::WithinAbs;

namespace {
template <class F>
ValueLattice lattice(int n, F value) {
  ValueLattice result{n, n, {}};
  for (int row = 0; row < n; ++row)
    for (int column = 0; column < n; ++column) result.value.push_back(value(column, row));
  return result;
}
}  // namespace

TEST_CASE("a circle's contour is one closed line of the right radius", "[report][contours]") {
  const auto cone = lattice(41, [](int x, int y) { return std::hypot(x - 20.0, y - 20.0); });
  const auto lines = contour_lines(cone, 12.3);
  REQUIRE(lines.size() == 1);
  CHECK(lines[0].front().x_mm == lines[0].back().x_mm);
  CHECK(lines[0].front().y_mm == lines[0].back().y_mm);
  for (const auto& point : lines[0])
    CHECK_THAT(std::hypot(point.x_mm - 20, point.y_mm - 20), WithinAbs(12.3, 0.02));
}

TEST_CASE("a slope's contour is one open line from border to border", "[report][contours]") {
  const auto lines = contour_lines(lattice(9, [](int x, int y) { return x + 0.25 * y; }), 4.1);
  REQUIRE(lines.size() == 1);
  const double low = std::fmin(lines[0].front().y_mm, lines[0].back().y_mm);
  const double high = std::fmax(lines[0].front().y_mm, lines[0].back().y_mm);
  CHECK(low == 0);
  CHECK(high == 8);
  for (const auto& point : lines[0]) CHECK_THAT(point.x_mm + 0.25 * point.y_mm, WithinAbs(4.1, 1e-12));
}

TEST_CASE("saddles, flat ground and two hills", "[report][contours]") {
  CHECK(contour_lines(lattice(2, [](int x, int y) { return x == y ? 1.0 : 0.0; }), 0.5).size() == 2);
  CHECK(contour_lines(lattice(5, [](int, int) { return 0.3; }), 0.3).empty());
  CHECK(contour_lines(lattice(5, [](int, int) { return 0.3; }), 0.9).empty());
  const auto hills = lattice(31, [](int x, int y) {
    return std::fmax(std::exp(-0.1 * (std::pow(x - 8, 2) + std::pow(y - 8, 2))),
                     std::exp(-0.1 * (std::pow(x - 22, 2) + std::pow(y - 22, 2))));
  });
  CHECK(contour_lines(hills, 0.5).size() == 2);
  CHECK_THROWS_AS(contour_lines(ValueLattice{2, 2, {1, 2, 3}}, 0.5), frostcal::errors::Bug);
}

TEST_CASE("axes have round ticks within their range", "[report][axis]") {
  CHECK(Axis{10, 100, true, 0, 1}.ticks(7) == std::vector<double>{10, 20, 30, 50, 70, 100});
  CHECK(Axis{200, 600, true, 0, 1}.ticks(5) == std::vector<double>{200, 300, 400, 500, 600});
  CHECK(Axis{0, 1, false, 0, 1}.ticks(5).size() == 6);
  const Axis axis{10, 100, true, 50, 20};
  CHECK_THAT(axis.at(10), WithinAbs(50, 1e-12));
  CHECK_THAT(axis.at(std::sqrt(1000.0)), WithinAbs(60, 1e-12));
  CHECK_THAT(axis.at(100), WithinAbs(70, 1e-12));
}

TEST_CASE("the map's colours rise in lightness all the way", "[report][colour]") {
  double before = -1;
  for (int i = 0; i <= 100; ++i) {
    const double lightness = frostcal::sheet::lab(cividis(i / 100.0))[0];
    CHECK(lightness > before);
    before = lightness;
  }
  CHECK(frostcal::sheet::hex_text(cividis(-1)) == "#00204D");
  CHECK(frostcal::sheet::hex_text(cividis(2)) == "#FFEA46");
  CHECK(frostcal::sheet::hex_text(cividis(0.5)) == "#7D7C78");
}
