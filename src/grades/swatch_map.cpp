#include "grades/swatch_map.hpp"
#include "sheet/standing_frame.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace frostcal::grades {

namespace {

/// The swatches of one bottle in lines: from the neck on, a new one where x grows by more than half a swatch.
void number_lines(const std::vector<design::Swatch>& swatches, std::vector<std::size_t> of_bottle,
                  std::vector<std::size_t>& line_of) {
  std::stable_sort(of_bottle.begin(), of_bottle.end(),
                   [&](std::size_t a, std::size_t b) { return swatches[a].x_mm < swatches[b].x_mm; });
  std::size_t line = 0;
  double start = swatches[of_bottle.front()].x_mm;
  for (const std::size_t i : of_bottle) {
    if (swatches[i].x_mm - start > 0.5 * swatches[i].width_mm) {
      ++line;
      start = swatches[i].x_mm;
    }
    line_of[i] = line;
  }
}

}  // namespace

SwatchMap::SwatchMap(const design::Grid& grid, shop::Side neck) : line_of_(grid.swatches.size()) {
  std::map<std::string, std::vector<std::size_t>> of_bottle;
  for (std::size_t i = 0; i < grid.swatches.size(); ++i) of_bottle[grid.swatches[i].bottle].push_back(i);
  for (const auto& [bottle, indices] : of_bottle) number_lines(grid.swatches, indices, line_of_);
  for (std::size_t i = 0; i < grid.swatches.size(); ++i) {
    const design::Swatch& swatch = grid.swatches[i];
    ids_.push_back(swatch.id);
    bool same = false;
    if (i > 0) {
      const design::Swatch& before = grid.swatches[i - 1];
      same = before.bottle == swatch.bottle && std::abs(before.y_mm - swatch.y_mm) <= 0.5 * swatch.height_mm;
    }
    if (!same) columns_.push_back({swatch.bottle, sheet::standing_u(neck, swatch.y_mm), {}});
    columns_.back().swatches.push_back(i);
    column_of_.push_back(columns_.size() - 1);
  }
}

std::vector<std::size_t> SwatchMap::columns_on(const std::string& bottle) const {
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    if (columns_[i].bottle == bottle) found.push_back(i);
  }
  std::stable_sort(found.begin(), found.end(),
                   [&](std::size_t a, std::size_t b) { return columns_[a].u_mm < columns_[b].u_mm; });
  return found;
}

std::string SwatchMap::place(std::size_t index) const {
  const Column& column = columns_[column_of_[index]];
  const std::vector<std::size_t> all = columns_on(column.bottle);
  const auto number = std::find(all.begin(), all.end(), column_of_[index]) - all.begin() + 1;
  const std::size_t at = static_cast<std::size_t>(
      std::find(column.swatches.begin(), column.swatches.end(), index) - column.swatches.begin());
  std::string text = column.bottle + ", column " + std::to_string(number) + " of " +
                     std::to_string(all.size()) + ", place " + std::to_string(at + 1) + " of " +
                     std::to_string(column.swatches.size()) + " from the neck";
  const bool has_above = at > 0;
  const bool has_below = at + 1 < column.swatches.size();
  if (has_above && has_below) {
    text += ", between " + ids_[column.swatches[at - 1]] + " and " + ids_[column.swatches[at + 1]];
  } else if (has_above) {
    text += ", below " + ids_[column.swatches[at - 1]];
  } else if (has_below) {
    text += ", above " + ids_[column.swatches[at + 1]];
  }
  return text;
}

std::string SwatchMap::draw(std::size_t index, const std::function<char(std::size_t)>& sign) const {
  const std::vector<std::size_t> all = columns_on(columns_[column_of_[index]].bottle);
  std::vector<std::string> lines;
  for (std::size_t k = 0; k < all.size(); ++k) {
    for (const std::size_t swatch : columns_[all[k]].swatches) {
      if (lines.size() <= line_of_[swatch]) lines.resize(line_of_[swatch] + 1);
      std::string& line = lines[line_of_[swatch]];
      line.resize(std::max(line.size(), 2 + 2 * k + 1), ' ');
      line[2 + 2 * k] = sign(swatch);
    }
  }
  lines.front().resize(2 + 2 * all.size(), ' ');
  lines.front() += " neck up";
  std::string text;
  for (const std::string& line : lines) text += line + '\n';
  return text;
}

}  // namespace frostcal::grades
