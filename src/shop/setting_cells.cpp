#include "shop/setting_cells.hpp"

#include <cmath>

#include "textfile/number_text.hpp"

namespace frostcal::shop {

namespace {
constexpr textfile::NumberRange kPercent{0.01, 100};
constexpr textfile::NumberRange kDpi{1, 10000};
constexpr textfile::NumberRange kPasses{1, 100};
}  // namespace

std::string dial_cell(double percent) {
  const double hundredths = 100 * percent;
  const bool two_are_enough = std::abs(hundredths - std::round(hundredths)) < 0.005;
  return textfile::format_fixed(percent, two_are_enough ? 2 : 4);
}

Setting read_setting_cells(const textfile::CsvRow& cells, std::size_t first, errors::FaultList& faults) {
  const auto number = [&](std::size_t column) {
    return textfile::read_number_cell(cells.cell(first + column), kPercent, faults).value_or(0);
  };
  const auto integer = [&](std::size_t column, textfile::NumberRange range) {
    return static_cast<int>(
        textfile::read_integer_cell(cells.cell(first + column), range, faults).value_or(0));
  };
  Setting setting;
  setting.power_pct = number(0);
  setting.speed_pct = number(1);
  setting.dpi = integer(2, kDpi);
  setting.tone_pct = number(3);
  setting.screen = textfile::unguarded(cells.cell(first + 4).text);
  setting.passes = integer(5, kPasses);
  return setting;
}

}  // namespace frostcal::shop
