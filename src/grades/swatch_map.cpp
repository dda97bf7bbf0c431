#include "grades/swatch_map.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace frostcal::grades {

namespace {

/// The swatches of one bottle in columns: from left to right, a new one where x grows by more than half a
/// swatch.
void number_columns(const std::vector<design::Swatch>& swatches, std::vector<std::size_t> of_bottle,
                    std::vector<std::size_t>& column_of) {
  std::stable_sort(of_bottle.begin(), of_bottle.end(),
                   [&](std::size_t a, std::size_t b) { return swatches[a].x_mm < swatches[b].x_mm; });
  std::size_t column = 0;
  double start = swatches[of_bottle.front()].x_mm;
  for (const std::size_t i : of_bottle) {
    if (swatches[i].x_mm - start > 0.5 * swatches[i].width_mm) {
      ++column;
      start = swatches[i].x_mm;
    }
    column_of[i] = column;
  }
}

}  // namespace

SwatchMap::SwatchMap(const design::Grid& grid) : column_of_(grid.swatches.size()) {
  std::map<std::string, std::vector<std::size_t>> of_bottle;
  for (std::size_t i = 0; i < grid.swatches.size(); ++i) of_bottle[grid.swatches[i].bottle].push_back(i);
  for (const auto& [bottle, indices] : of_bottle) number_columns(grid.swatches, indices, column_of_);
  for (std::size_t i = 0; i < grid.swatches.size(); ++i) {
    const design::Swatch& swatch = grid.swatches[i];
    ids_.push_back(swatch.id);
    bool same = false;
    if (i > 0) {
      const design::Swatch& before = grid.swatches[i - 1];
      same = before.bottle == swatch.bottle && std::abs(before.y_mm - swatch.y_mm) <= 0.5 * swatch.height_mm;
    }
    if (!same) rows_.push_back({swatch.bottle, {}});
    rows_.back().swatches.push_back(i);
    row_of_.push_back(rows_.size() - 1);
  }
}

std::string SwatchMap::place(std::size_t index) const {
  const Row& row = rows_[row_of_[index]];
  std::size_t rows = 0;
  std::size_t number = 0;
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    if (rows_[i].bottle != row.bottle) continue;
    ++rows;
    if (i == row_of_[index]) number = rows;
  }
  const std::size_t at = static_cast<std::size_t>(std::find(row.swatches.begin(), row.swatches.end(), index) -
                                                  row.swatches.begin());
  std::string text = row.bottle + ", row " + std::to_string(number) + " of " + std::to_string(rows) +
                     ", place " + std::to_string(at + 1) + " of " + std::to_string(row.swatches.size());
  const bool has_left = at > 0;
  const bool has_right = at + 1 < row.swatches.size();
  if (has_left && has_right) {
    text += ", between " + ids_[row.swatches[at - 1]] + " and " + ids_[row.swatches[at + 1]];
  } else if (has_left) {
    text += ", after " + ids_[row.swatches[at - 1]];
  } else if (has_right) {
    text += ", before " + ids_[row.swatches[at + 1]];
  }
  return text;
}

std::string SwatchMap::draw(std::size_t index, const std::function<char(std::size_t)>& sign) const {
  std::string text;
  for (const Row& row : rows_) {
    if (row.bottle != rows_[row_of_[index]].bottle) continue;
    std::string line = "  ";
    for (const std::size_t swatch : row.swatches) {
      const std::size_t at = 2 + 2 * column_of_[swatch];
      if (line.size() <= at) line.resize(at + 1, ' ');
      line[at] = sign(swatch);
    }
    text += line + '\n';
  }
  return text;
}

}  // namespace frostcal::grades
