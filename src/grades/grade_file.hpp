// results/NNNN-glass.csv: reading, appending durably, and what counts in the end.
#pragma once

#include <string>
#include <vector>

#include "design/grid.hpp"
#include "grades/grade.hpp"
#include "shop/shop.hpp"

namespace frostcal::grades {

/// All rows of a grid's results file in file order; empty when there is no file. Throws UserError with every
/// fault of the file (unknown swatch, grade out of range, torn row not at the end, ...).
std::vector<GradeRow> read_grades(const shop::Shop& shop, const design::Grid& grid);

/// One entry per swatch and grader, in the grid's swatch order. A row superseded by a later one of the same
/// swatch and grader does not count, except that a later look never lowers chipping unless it is a correction
/// (see grade_file.cpp for the rule).
std::vector<SwatchGrade> effective_grades(const design::Grid& grid, const std::vector<GradeRow>& rows);

}  // namespace frostcal::grades
