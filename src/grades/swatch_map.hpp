// Where a swatch is on its bottle, in words and as a small map for the terminal.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "design/grid.hpp"

namespace frostcal::grades {

/// Rows and places of all swatches. A row is a run of swatches on one bottle at the same height y, to within
/// half a swatch; rows and places count from 1 in the order in which the eye meets them.
class SwatchMap {
 public:
  explicit SwatchMap(const design::Grid& grid);

  /// "amber-jug-1, row 2 of 6, place 3 of 6, between B2 and B4"; `index` into grid.swatches.
  std::string place(std::size_t index) const;
  /// The bottle's rows with one sign per swatch, each line indented by two blanks. Swatches at the same x
  /// stand under one another.
  std::string draw(std::size_t index, const std::function<char(std::size_t)>& sign) const;
  /// True when both are in one row of one bottle.
  bool same_row(std::size_t a, std::size_t b) const { return row_of_[a] == row_of_[b]; }

 private:
  struct Row {
    std::string bottle;
    std::vector<std::size_t> swatches;
  };
  std::vector<std::string> ids_;
  std::vector<Row> rows_;  // bottle by bottle
  std::vector<std::size_t> row_of_;
  std::vector<std::size_t> column_of_;  // on its bottle, by x
};

}  // namespace frostcal::grades
