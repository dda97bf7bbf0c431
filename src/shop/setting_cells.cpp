#include "shop/setting_cells.hpp"

namespace frostcal::shop {

namespace {
constexpr textfile::NumberRange kPercent{0.01, 100};
constexpr textfile::NumberRange kDpi{1, 10000};
constexpr textfile::NumberRange kPasses{1, 100};
}  // namespace

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
