// Where a swatch is on its bottle, in words and as a small map for the terminal.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "design/grid.hpp"
#include "shop/shop.hpp"

namespace frostcal::grades {

/// Columns and places of all swatches, as the bottle stands with its neck up and as the run sheet shows it. A
/// column is a run of swatches on one bottle at the same height y of the page, to within half a swatch;
/// columns count from the left, places from the neck.
class SwatchMap {
 public:
  /// `neck` is the side of the page on which the rotary holds it.
  SwatchMap(const design::Grid& grid, shop::Side neck);

  /// "amber-jug-1, column 2 of 6, place 3 of 6 from the neck, between B2 and B4"; `index` into grid.swatches.
  std::string place(std::size_t index) const;
  /// The bottle with one sign per swatch, a line for each distance from the neck, indented by two blanks.
  std::string draw(std::size_t index, const std::function<char(std::size_t)>& sign) const;
  /// True when both are in one column of one bottle.
  bool same_column(std::size_t a, std::size_t b) const { return column_of_[a] == column_of_[b]; }

 private:
  struct Column {
    std::string bottle;
    double u_mm = 0;  // to the right on the standing bottle
    std::vector<std::size_t> swatches;
  };
  /// Those of the bottle, from left to right.
  std::vector<std::size_t> columns_on(const std::string& bottle) const;

  std::vector<std::string> ids_;
  std::vector<Column> columns_;
  std::vector<std::size_t> column_of_;
  std::vector<std::size_t> line_of_;  // on its bottle, from the neck
};

}  // namespace frostcal::grades
