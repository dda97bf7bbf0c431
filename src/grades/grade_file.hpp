// results/NNNN-glass.csv: reading, appending durably, and what counts in the end.
// Columns: swatch, frost, chipping, note, grader, graded_at, format. One row is one act of grading; no row is
// ever rewritten. Files of the old form have no `format`; they are read and continued as they are.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "design/grid.hpp"
#include "errors/user_error.hpp"
#include "grades/grade.hpp"
#include "shop/shop.hpp"
#include "textfile/append_row.hpp"
#include "textfile/file_system.hpp"

namespace frostcal::grades {

/// The note of a row that takes back all earlier rows of its swatch and grader (undo).
inline constexpr std::string_view kTakenBack = "taken back";
bool takes_back(const GradeRow& row);

/// The note of a grade that no person gave: frostcal_simulate writes it into every row.
inline constexpr std::string_view kSimulated = "simulated";

/// The format of the rows that this version writes, and the newest that it reads.
inline constexpr int kGradesFormat = 1;

/// All rows of a grid's results file in file order; empty when there is no file. Throws UserError with every
/// fault of the file (unknown swatch, grade out of range, ...). A row at the end that was cut while it was
/// written is left out: it was never acknowledged, and the next append cuts it off.
std::vector<GradeRow> read_grades(const shop::Shop& shop, const design::Grid& grid,
                                  textfile::FileSystem& files = textfile::real_file_system());

/// The same from text; faults are added to the list and rows with one left out. `name` is the file's name for
/// messages.
std::vector<GradeRow> parse_grades(std::string_view text, const std::string& name, const design::Grid& grid,
                                   errors::FaultList& faults);

/// Appends all rows, or none. When it returns they are on the disk and may be acknowledged. Rows must name
/// swatches of the grid, a grader and a time (else Bug). Throws SystemError.
textfile::TailRepair append_grades(const shop::Shop& shop, const design::Grid& grid,
                                   const std::vector<GradeRow>& rows,
                                   textfile::FileSystem& files = textfile::real_file_system());

/// What is doubtful when some row was graded before the grid was planned: it is hardly of this grid. Nothing
/// when none was, or when it was taken back. A bare day (of midnight UTC) may be the day before: it is the
/// grader's own.
std::optional<errors::Fault> early_grades(const shop::Shop& shop, const design::Grid& grid,
                                          const std::vector<GradeRow>& rows);

/// What is doubtful when some row's day is more than one ahead of `now` (zones differ by a day). Nothing when
/// none is.
std::optional<errors::Fault> late_grades(const shop::Shop& shop, const design::Grid& grid,
                                         const std::vector<GradeRow>& rows, const std::string& now);

/// The results file as the file layer knows it, for append_rows and read_appended.
textfile::AppendedFile grades_layout(const shop::Shop& shop, const std::string& grid_id);

/// One entry per swatch and grader, in the grid's swatch order. The rows of a swatch and grader count in file
/// order:
///   frost and chipping given   a full grading: replaces both, so a correction may lower chipping
///   only chipping given        a later look: frost stays, the worse chipping counts; one that found no more
///                              keeps the time that the grade had
///   only frost given           replaces frost, chipping stays
///   neither given              not gradable: both are empty; with the note kTakenBack: as if never graded
/// The last note that is not empty is kept.
std::vector<SwatchGrade> effective_grades(const design::Grid& grid, const std::vector<GradeRow>& rows);

/// The same for one row: `grade` is what counted of its swatch and grader before it, and then what counts
/// after it.
void apply_row(const GradeRow& row, std::optional<SwatchGrade>& grade);

}  // namespace frostcal::grades
