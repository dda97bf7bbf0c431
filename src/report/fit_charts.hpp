// The small charts of the fit report.
#pragma once

#include "report/fit_report.hpp"
#include "sheet/drawing.hpp"

namespace frostcal::report {

/// Chance (0 to 1) along one factor: the interval as a grey band, the target as a dashed line, the best
/// setting as an upright line, tried values as ticks inside the axis. Top left corner at (x, y).
void draw_cut(sheet::Page& page, const ChanceCut& cut, double target, double x_mm, double y_mm,
              double width_mm, double height_mm);

/// Swatches seen per grade as bars, expected ones as a line across each bar.
void draw_counts(sheet::Page& page, const GradeCounts& counts, double x_mm, double y_mm, double width_mm,
                 double height_mm);

}  // namespace frostcal::report
