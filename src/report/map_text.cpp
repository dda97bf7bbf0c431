#include "report/map_text.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "errors/bug.hpp"
#include "report/axis.hpp"
#include "sheet/shown_number.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::report {
namespace {

/// The place, of `count` over the axis, that a value falls on.
int place_of(double value, double low, double high, int count) {
  const double share = std::log(value / low) / std::log(high / low);
  return std::clamp(static_cast<int>(std::floor(share * count)), 0, count - 1);
}

std::string right_aligned(const std::string& text, std::size_t width) {
  return text.size() >= width ? text : std::string(width - text.size(), ' ') + text;
}

/// The power axis: each tick's number starts under its place, where there is room.
std::string power_line(const ChanceMap& map, int columns) {
  const double low = map.power_pct.front();
  const double high = map.power_pct.back();
  std::string line(static_cast<std::size_t>(2 * columns), ' ');
  std::size_t free = 0;
  for (const double tick : Axis{low, high, true, 0, 1}.ticks(8)) {
    const std::string text = sheet::shown_number(tick, 2);
    const auto at = static_cast<std::size_t>(2 * place_of(tick, low, high, columns));
    if (at < free || at + text.size() > line.size()) continue;
    line.replace(at, text.size(), text);
    free = at + text.size() + 1;
  }
  line.erase(line.find_last_not_of(' ') + 1);
  return line;
}

}  // namespace

std::string map_text(const ChanceMap& map, const MapTextOptions& options) {
  FROSTCAL_ASSERT(options.columns >= 8 && options.rows >= 4, "map_text: too small");
  const double left = map.power_pct.front();
  const double right = map.power_pct.back();
  const double low = map.speed_pct.front();
  const double high = map.speed_pct.back();
  const int columns = options.columns;
  const int rows = options.rows;
  std::vector<std::string> signs(static_cast<std::size_t>(rows),
                                 std::string(static_cast<std::size_t>(columns), ' '));
  std::vector<std::string> digits = signs;
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column) {
      const double chance = chance_at(map, along(left, right, (column + 0.5) / columns),
                                      along(low, high, 1 - (row + 0.5) / rows));
      const auto r = static_cast<std::size_t>(row);
      const auto c = static_cast<std::size_t>(column);
      const int tenths = std::clamp(static_cast<int>(std::floor(chance * 10 + 1e-9)), 0, 9);
      digits[r][c] = tenths == 0 ? '.' : static_cast<char>('0' + tenths);
      if (chance >= options.target) signs[r][c] = '+';
    }
  const auto sign = [&](double power, double speed, char mark) {
    if (power < left || power > right || speed < low || speed > high) return;
    signs[static_cast<std::size_t>(rows - 1 - place_of(speed, low, high, rows))]
         [static_cast<std::size_t>(place_of(power, left, right, columns))] = mark;
  };
  for (const SwatchMark& mark : map.swatches) sign(mark.power_pct, mark.speed_pct, 'o');
  if (map.best) sign(map.best->first, map.best->second, '*');

  std::vector<std::string> names(static_cast<std::size_t>(rows));
  for (const double tick : Axis{low, high, true, 0, 1}.ticks(rows / 2))
    names[static_cast<std::size_t>(rows - 1 - place_of(tick, low, high, rows))] =
        sheet::shown_number(tick, 2);

  const std::string bar = options.utf8 ? "\u2502" : "|";
  const std::string dash = options.utf8 ? "\u2500" : "-";
  std::string text = map_title(map);
  if (map.others > 0)
    text +=
        "; " + textfile::counted(map.others, "swatch", "swatches") + " of other tones or passes not shown";
  text += "\nspeed %\n";
  for (std::size_t row = 0; row < digits.size(); ++row) {
    std::string line = right_aligned(names[row], 5) + " " + bar;
    for (std::size_t column = 0; column < digits[row].size(); ++column) {
      line += digits[row][column];
      line += signs[row][column];
    }
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  }
  text += "      " + std::string(options.utf8 ? "\u2514" : "+");
  for (int i = 0; i < 2 * columns; ++i) text += dash;
  text += "\n       " + power_line(map, columns) + "\n       power %\n";
  text += "digits: tenths of the chance; . under one; + meets the target of " +
          textfile::shown_bar(options.target) + "; o swatch; * best setting\n";
  return text;
}

}  // namespace frostcal::report
