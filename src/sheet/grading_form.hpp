// Where the operator writes the grades: no settings on it, so that grades are not swayed by them.
#pragma once

#include <string>
#include <vector>

#include "sheet/paper_flow.hpp"
#include "shop/shop.hpp"

namespace frostcal::sheet {

/// The words of the grades, in two columns over the whole width.
double grade_words_height_mm(const shop::GradeScale& scale);
void draw_grade_words(PaperFlow& flow, const shop::GradeScale& scale);

/// Height of the form for `count` swatches in `columns` columns, heads and signature lines included.
double form_height_mm(std::size_t count, int columns);

/// Rows for the ids, down each column first, with boxes for frost, chipping and the second look, a line for a
/// note, and lines for names and dates below. Top left corner at (x, y).
void draw_form(Page& page, const std::vector<std::string>& ids, double x_mm, double y_mm, double width_mm,
               int columns);

}  // namespace frostcal::sheet
