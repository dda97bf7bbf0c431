// A small grid for tests: two bottles with two rows of three swatches, A1 .. D3; D1 is the reference.
#pragma once

#include "design/grid.hpp"
#include "shop/shop.hpp"

namespace frostcal::test {

inline design::Grid sample_grid() {
  design::Grid grid;
  grid.id = "0001-amber-jug";
  grid.number = 1;
  grid.glass = "amber-jug";
  grid.machine = "bench";
  grid.vessel = "tall-jug";
  for (int row = 0; row < 4; ++row) {
    for (int place = 0; place < 3; ++place) {
      design::Swatch swatch;
      swatch.id = std::string(1, static_cast<char>('A' + row)) + std::to_string(place + 1);
      swatch.bottle = row < 2 ? "amber-jug-1" : "amber-jug-2";
      swatch.burn = row < 2 ? 1 : 2;
      swatch.x_mm = -10.0 + 10.0 * place;
      swatch.y_mm = row % 2 == 0 ? 5.0 : -5.0;
      swatch.width_mm = swatch.height_mm = 8;
      swatch.setting = {60.0 + row, 40.0 + place, 300, 100, "stucki", 1};
      grid.swatches.push_back(swatch);
    }
  }
  grid.swatches[9].role = design::Role::reference;
  return grid;
}

inline shop::Shop sample_shop(const std::filesystem::path& folder) {
  shop::Shop shop;
  shop.folder = folder;
  shop.machines.push_back({});
  shop.machines[0].name = "bench";
  return shop;
}

}  // namespace frostcal::test
