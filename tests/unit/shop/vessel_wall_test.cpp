#include "shop/vessel_wall.hpp"

#include <catch2/catch.hpp>

using namespace frostcal::shop;

TEST_CASE("free areas stay on the page and clear of every seam", "[shop]") {
  constexpr double kPi = 3.14159265358979;
  const Machine machine;
  for (const int seams : {0, 1, 2, 3, 4, 5}) {
    const Vessel vessel{"v", 80, 88, 95, seams};
    const double girth = kPi * 84;
    const auto areas = free_areas(vessel, machine);
    REQUIRE(!areas.empty());
    CHECK(areas.front().y_low < 0);
    CHECK(areas.front().y_high > 0);
    double covered = 0;
    for (const WallArea& area : areas) {
      CAPTURE(seams, area.y_low, area.y_high);
      CHECK(area.y_low >= -girth / 2);
      CHECK(area.y_high <= girth / 2);
      CHECK(area.x_low >= -95 / 2.0);
      CHECK(area.x_high <= 95 / 2.0);
      covered += area.y_high - area.y_low;
      for (int i = 0; i < seams; ++i) {
        // Seams stand half a space from the middle of the placing area.
        for (const double turn : {-1.0, 0.0, 1.0}) {
          const double seam = (i + 0.5) * girth / seams + turn * girth;
          CHECK((seam <= area.y_low || seam >= area.y_high));
        }
      }
    }
    CHECK(covered > 0.75 * girth);
  }
}
