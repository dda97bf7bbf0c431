// The simulated operator: burns a swatch on a bottle and writes down what it looks like.
#pragma once

#include <cstdint>
#include <string>

#include "simulator/response.hpp"

namespace frostcal::simulator {

/// Where and when a swatch was burned. Bottles keep their nature through all grids; a grid is burned on one
/// day.
struct Occasion {
  std::string grid;
  std::string bottle;
  std::string swatch;
  double turn_rad = 0;  // place round the bottle
};

struct Grades {
  int frost = 0;     // 0..5
  int chipping = 0;  // 0..3
};

/// The grades of one swatch. The same glass, seed and occasion give the same grades.
Grades grade_swatch(const HiddenGlass& glass, std::uint64_t seed, const Exposure& exposure,
                    const Occasion& occasion);

}  // namespace frostcal::simulator
