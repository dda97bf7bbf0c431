// A small invented shop and grids of any size for the sheet tests.
#pragma once

#include "design/grid.hpp"
#include "shop/shop.hpp"

namespace frostcal::sheet::test {

inline shop::Shop demo_shop() {
  shop::Machine bench;
  bench.name = "bench";
  bench.rated_power_w = 60;
  bench.top_speed_mm_s = 1200;
  bench.spot_mm = 0.12;
  bench.depth_of_focus_mm = 1.2;
  bench.dpi = {250, 300, 400};
  bench.power_pct = {5, 100, 1};
  bench.speed_pct = {5, 100, 1};
  bench.tone_pct = {20, 100, 10};
  bench.screens = {"stucki"};
  shop::Machine barn = bench;
  barn.name = "barn";
  barn.rotary = {shop::RotaryKind::chuck, shop::Side::right, 360};
  shop::Shop shop;
  shop.name = "Saltings Farm Shop";
  shop.machines = {bench, barn};
  shop.vessels = {{"tall-jug", 88, 88, 95, 2}, {"cruet", 58, 64, 70, 2}};
  shop.glasses = {{"amber-jug", "soda-lime", "amber", "tall-jug", {}},
                  {"clear-cruet", "soda-lime", "clear", "cruet", {}}};
  return shop;
}

/// rows x columns swatches of 8 mm, 12 mm apart along the axis and 11 mm round the bottle, `recipes` powers.
inline design::Grid demo_grid(int rows, int columns, int recipes, double tone = 100) {
  design::Grid grid;
  grid.id = "0007-amber-jug";
  grid.number = 7;
  grid.glass = "amber-jug";
  grid.machine = "bench";
  grid.vessel = "tall-jug";
  grid.design = "lattice";
  grid.planned_at = "2026-11-25T11:14:05Z";
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column) {
      design::Swatch swatch;
      swatch.id =
          std::string(1, static_cast<char>('A' + row % 26)) + std::to_string(column + 1 + 10 * (row / 26));
      swatch.bottle = "amber-jug-1";
      swatch.burn = 1;
      swatch.x_mm = (column - (columns - 1) / 2.0) * 12;
      swatch.y_mm = ((rows - 1) / 2.0 - row) * 11;
      swatch.width_mm = 8;
      swatch.height_mm = 8;
      swatch.setting = {20.0 + 5 * ((row * columns + column) % recipes), 40, 300, tone, "stucki", 1};
      grid.swatches.push_back(swatch);
    }
  return grid;
}

}  // namespace frostcal::sheet::test
