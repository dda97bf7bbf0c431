// Lines of equal value through a lattice of values.
#pragma once

#include <vector>

#include "sheet/drawing.hpp"

namespace frostcal::report {

/// Values at the corners of a regular lattice: value[row * columns + column], row 0 at the bottom.
struct ValueLattice {
  int columns = 0;
  int rows = 0;
  std::vector<double> value;
  double at(int column, int row) const { return value[static_cast<std::size_t>(row * columns + column)]; }
};

/// Lines where the value crosses `level`, by marching squares with straight interpolation along cell edges
/// (a saddle cell is split by its mean). Points are in lattice units: x 0 to columns - 1, y 0 to rows - 1.
/// A line that does not end at the border is closed (last point = first).
std::vector<std::vector<sheet::Point>> contour_lines(const ValueLattice& lattice, double level);

}  // namespace frostcal::report
