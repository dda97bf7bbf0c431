#include "shop/vessel_wall.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

using namespace frostcal::shop;

TEST_CASE("free areas stay on the page and clear of every seam", "[shop]") {
  constexpr double kPi = 3.14159265358979;
  const Machine machine;
  for (const int seams : {0, 1, 2, 3, 4, 5}) {
    const Vessel vessel{"v", 42, 126, 95, seams};
    const double girth = kPi * 84;  // of the page, which is by angle
    const auto areas = free_areas(vessel, machine);
    REQUIRE(!areas.empty());
    CHECK(areas.front().y_low < 0);
    CHECK(areas.front().y_high > 0);
    double covered = 0;
    for (const WallArea& area : areas) {
      CAPTURE(seams, area.y_low, area.y_high);
      // Page millimetres are 42 + 84 * (x + 47.5) / 95 over 84 mm of glass.
      const double glass = (42 + 84 * (area.x_low + 47.5) / 95) / 84;
      CHECK((area.y_low + girth / 2) * glass >= 2 - 1e-9);
      CHECK((girth / 2 - area.y_high) * glass >= 2 - 1e-9);
      CHECK(area.x_low >= -95 / 2.0);
      CHECK(area.x_high <= 95 / 2.0);
      covered += area.y_high - area.y_low;
      for (int i = 0; i < seams; ++i) {
        // Seams stand half a space from the middle of the placing area.
        for (const double turn : {-1.0, 0.0, 1.0}) {
          const double seam = (i + 0.5) * girth / seams + turn * girth;
          const double clear = std::max(area.y_low - seam, seam - area.y_high) * glass;
          CHECK(clear >= 3 - 1e-9);
        }
      }
    }
    CHECK(covered > 0.75 * girth);
  }
}
