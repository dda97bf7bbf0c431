// The ratio of a circle's circumference to its diameter, to the precision of double.
#pragma once

namespace frostcal::numerics {

inline constexpr double kPi = 3.14159265358979323846;

}  // namespace frostcal::numerics
