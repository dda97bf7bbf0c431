// Cells of grade files: swatch names and grades.
#pragma once

#include <optional>
#include <string>
#include <unordered_set>
#include <vector>

#include "design/grid.hpp"
#include "errors/user_error.hpp"
#include "grades/grade.hpp"
#include "textfile/csv_reader.hpp"

namespace frostcal::grades {

/// The swatch ids of a grid.
class SwatchNames {
 public:
  explicit SwatchNames(const design::Grid& grid);
  bool knows(const std::string& id) const { return known_.count(id) != 0; }
  /// The id in the cell ("b7" and "B07" are B7), or an empty text and a fault that names the nearest id.
  std::string read(const textfile::CsvCell& cell, errors::FaultList& faults) const;
  /// The id as the grid writes it, or nothing.
  std::optional<std::string> find(const std::string& text) const;

 private:
  std::vector<std::string> ids_;
  std::unordered_set<std::string> known_;
};

/// A grade from 0 to grades - 1; nothing for an empty cell, and with a fault for a wrong one.
std::optional<int> read_grade_cell(const textfile::CsvCell& cell, int grades, errors::FaultList& faults);

/// A grade, ">=4" (4 or better) or "<=1"; nothing for an empty cell, and with a fault for a wrong one.
std::optional<GradeRange> read_range_cell(const textfile::CsvCell& cell, int grades,
                                          errors::FaultList& faults);

/// As read_range_cell reads it; a range that ends at neither 0 nor the highest grade has no such form.
std::string range_text(const std::optional<GradeRange>& range, int grades);

}  // namespace frostcal::grades
