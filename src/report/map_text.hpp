// `fit --map`: the chance over power and speed as digits in a terminal.
#pragma once

#include <string>

#include "report/chance_map.hpp"

namespace frostcal::report {

struct MapTextOptions {
  int columns = 32;  // places across, two characters each; the axis takes 7 more
  int rows = 16;
  bool utf8 = false;  // else plain ASCII
  double target = 0.9;
};

/// Two characters a place: the tenths of the chance, rounded down ('.' for 0, 9 for 0.9 and more), then '*'
/// for the best setting, 'o' for a swatch, '+' where the chance meets the target, or a blank. Speed falls
/// downwards, power grows to the right, both logarithmic. Ends with a line that explains the signs.
std::string map_text(const ChanceMap& map, const MapTextOptions& options = {});

}  // namespace frostcal::report
