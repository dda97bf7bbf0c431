// Grades from a spreadsheet or the paper form, and the empty form.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "design/grid.hpp"
#include "grades/grade.hpp"

namespace frostcal::grades {

/// What the file may leave out.
struct ImportDefaults {
  std::string grader;     // may be empty: then every row must name its grader
  std::string graded_at;  // 2026-11-25T11:14:05Z, now; for rows without a graded_at
};

/// UTF-8, or UTF-16 with its byte-order mark. Columns swatch, frost, chipping by name in any order; note,
/// grader, graded_at and bottle optional; others ignored. Rows without grades and note are places left empty
/// in the form and are skipped. All or nothing: throws UserError with every fault of the file (grade out of
/// range, unknown swatch, a swatch twice for one grader, a bottle that is not the swatch's, no grades at
/// all, or none by the grader of `defaults` as every row names another). graded_at is a time, or a bare day,
/// which becomes its midnight UTC; it may be a day ahead of now, for clocks differ, not more.
std::vector<GradeRow> parse_grade_import(std::string_view text, const std::string& name,
                                         const design::Grid& grid, const ImportDefaults& defaults);

/// What an import adds to the rows that are there.
struct ImportChange {
  std::vector<GradeRow> rows;  // to be appended; those that change nothing are left out
  int graded = 0;              // grades among them; the others take back what they replace
  int same = 0;                // the same person graded those so before
  int replaced = 0;            // the same person graded those otherwise before
  std::vector<std::string>
      later_looks;  // a later look saw more chipping than the import says, and that stays
};

/// A full grade would lower chipping, as a correction does, and one without chipping empties it; handing in
/// the form of the first day once more is none, so chipping that a later look raised is not lowered by an
/// import.
ImportChange change_by_import(const design::Grid& grid, const std::vector<GradeRow>& before,
                              const std::vector<GradeRow>& imported);

/// An empty form in design::grading_order: swatch, bottle, frost, chipping, note. It
/// shows no setting, so that the grade is not influenced by it.
std::string grade_form(const design::Grid& grid);

}  // namespace frostcal::grades
