// Numbers as people read them on a sheet.
#pragma once

#include <string>

#include "shop/shop.hpp"

namespace frostcal::sheet {

/// At most `decimals` decimals, trailing zeros left out, U+2212 as minus; never by locale. Not for files.
std::string shown_number(double value, int decimals);

/// Exactly `decimals` decimals, for columns of numbers. Not for files.
std::string fixed_number(double value, int decimals);

/// "40 s", "3.2 min", "1 h 05 min"; minutes to the same decimal as on the terminal.
std::string shown_duration(double seconds);

/// "88 mm" or "3.46 in".
std::string shown_length(double mm, shop::LengthUnit unit);

/// As it is typed at the machine: "88 mm", "0.472 in".
std::string shown_diameter(double mm, shop::LengthUnit unit);

/// "power may drift \u00b17.5 %", or "no room for power to drift" where that is so; part of a sentence.
std::string shown_drift(double tolerance_pct);

}  // namespace frostcal::sheet
