// Numbers with units as people type them on a command line, in any case: 60X40, 20MIN, 1h, 8mm, 60%.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>

namespace frostcal::cli {

/// What a bare number means; others of the same kind are converted: "1h" is 60 minutes, "3in" 76.2 mm.
enum class Unit {
  none,
  percent,  // %, percent, pct
  mm,       // mm, cm, in, inch, inches, "
  inch,     // the same, for a shop that shows inches; the value is in inches
  minutes,  // s, sec, second, min, minute, h, hr, hour, with or without s; also 1h20min
  dpi,      // dpi
  swatches,
  bottles
};

/// All of the text as an amount of that unit; nothing when it is something else. A decimal point, no comma:
/// on the command line commas part lists.
std::optional<double> read_amount(std::string_view text, Unit unit);

/// "60x40", "60 X 40", "60x40mm", "3in x 2in": two amounts with a cross between them; a unit behind the
/// second alone is that of both. A decimal comma is taken too.
std::optional<std::pair<double, double>> read_pair(std::string_view text, Unit unit);

}  // namespace frostcal::cli
