// A numeric column beside the grades in results/NNNN-glass.csv: what an instrument said of each swatch.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "design/grid.hpp"
#include "errors/user_error.hpp"
#include "shop/shop.hpp"
#include "textfile/file_system.hpp"

namespace frostcal::grades {

struct MeasuredValue {
  std::string swatch;
  double value = 0;
};

/// Measured columns are whatever a person added; the unit is theirs.
struct MeasuredColumn {
  bool found = false;                 // false: no results file, or none with a column of that name
  std::vector<std::string> header;    // all column names of the file
  std::vector<MeasuredValue> values;  // in the grid's swatch order, one for each swatch that was measured
};

/// Empty cells were not measured. The last value of each grader counts; where several graders measured a
/// swatch its value is their mean, because the swatch was burned once. A row with the note kTakenBack takes
/// back what its grader measured before. Rows later than `as_of` (a date; empty = none) are left out. Cells
/// that are no number are added to the faults, and so are unknown swatches.
MeasuredColumn parse_measured(std::string_view text, const std::string& name, const design::Grid& grid,
                              const std::string& column, const std::string& as_of, errors::FaultList& faults);

/// The same from the grid's results file. Throws UserError with every fault of the column.
MeasuredColumn read_measured(const shop::Shop& shop, const design::Grid& grid, const std::string& column,
                             const std::string& as_of,
                             textfile::FileSystem& files = textfile::real_file_system());

}  // namespace frostcal::grades
