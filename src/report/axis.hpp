// A numbered axis of a chart, logarithmic or straight.
#pragma once

#include <vector>

namespace frostcal::report {

/// The value at this share of the way from low to high, in logarithms.
double along(double low, double high, double share);

struct Axis {
  double low = 0;
  double high = 1;
  bool logarithmic = false;
  double start_mm = 0;  // place of `low` on the page
  double length_mm = 0;

  double at(double value) const;
  /// Round values within the axis, ascending: 1, 2, 5 and their tens (logarithmic, 3 and 7 too where the
  /// axis spans less than a decade), or steps of 1, 2 or 5 (straight); about `most` of them.
  std::vector<double> ticks(int most) const;
};

}  // namespace frostcal::report
