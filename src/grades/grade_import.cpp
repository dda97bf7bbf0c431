#include "grades/grade_import.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "errors/bug.hpp"
#include "grades/grade_cells.hpp"
#include "grades/grade_file.hpp"
#include "shop/shop.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/free_text.hpp"
#include "textfile/time_text.hpp"
#include "textfile/utf8.hpp"

namespace frostcal::grades {

namespace {

constexpr std::size_t kSwatch = 0;
constexpr std::size_t kFrost = 1;
constexpr std::size_t kChipping = 2;
constexpr std::size_t kNote = 3;
constexpr std::size_t kGrader = 4;
constexpr std::size_t kGradedAt = 5;
constexpr std::size_t kBottle = 6;

/// A form of another grid has the same swatch ids on other bottles.
void check_bottle(const textfile::CsvCell& cell, const std::string& swatch, const design::Grid& grid,
                  errors::FaultList& faults) {
  const std::string found = textfile::unguarded(cell.text);
  const design::Swatch* planned = grid.find(swatch);
  if (found.empty() || planned == nullptr || found == planned->bottle) return;
  faults.add({cell.place, errors::quoted(found),
              errors::quoted(planned->bottle) + ", where " + swatch + " of grid " + grid.id + " is",
              "is this the form of another grid?"});
}

std::string read_time(const textfile::CsvCell& cell, const std::string& now, errors::FaultList& faults) {
  if (cell.text.empty()) return now;
  const std::optional<int> day = textfile::day_number(cell.text);
  const bool bare = day && cell.text.size() == 10;
  if (!bare && !textfile::is_utc_time(cell.text)) {
    textfile::add_time_fault(cell, "a day such as 2026-11-25 or a time such as 2026-11-25T11:14:05Z",
                             "write it so, or leave it empty for now", faults);
    return now;
  }
  if (*day > *textfile::day_number(now) + 1) {
    faults.add({cell.place, cell.text + ", which is still to come", "a time up to now, " + now,
                "correct it, or this computer's clock"});
  }
  return bare ? cell.text + "T00:00:00Z" : cell.text;
}

/// What the same person said before of a swatch's chipping.
struct ChippingBefore {
  std::optional<int> graded;  // in the last grading
  std::optional<int> raised;  // by a later look; nothing when none did
};

ChippingBefore chipping_before(const std::vector<GradeRow>& before, const GradeRow& row) {
  ChippingBefore said;
  for (const GradeRow& one : before) {
    if (one.swatch != row.swatch || one.grader != row.grader) continue;
    if (one.chipping && !one.frost) {
      if (*one.chipping > std::max(said.graded.value_or(0), said.raised.value_or(0)))
        said.raised = one.chipping;
    } else if (one.chipping || !one.frost) {  // graded anew, or taken back
      said = {one.chipping, std::nullopt};
    }
  }
  return said;
}

const SwatchGrade* grade_in(const std::vector<SwatchGrade>& grades, const GradeRow& row) {
  const auto found = std::find_if(grades.begin(), grades.end(), [&](const SwatchGrade& grade) {
    return grade.swatch == row.swatch && grade.grader == row.grader;
  });
  return found == grades.end() ? nullptr : &*found;
}

/// The row before one that replaces an earlier grading by frost alone.
GradeRow taking_back(const GradeRow& row) {
  return {row.swatch, std::nullopt, std::nullopt, std::string(kTakenBack), row.grader, row.graded_at, 0};
}

/// A note or a grader's name as it is kept.
std::string read_text(const textfile::CsvCell& cell, std::size_t longest, errors::FaultList& faults) {
  std::string text = textfile::on_one_line(textfile::unguarded(cell.text));
  if (std::optional<errors::Fault> fault = textfile::free_text_fault(text, longest)) {
    fault->place = cell.place;
    faults.add(*fault);
  }
  return text;
}

/// Names the line on which the same swatch and grader stand already.
void check_doubled(const textfile::CsvCell& cell, const GradeRow& row,
                   std::map<std::pair<std::string, std::string>, int>& seen, errors::FaultList& faults) {
  const auto [first, is_new] = seen.emplace(std::pair(row.swatch, row.grader), row.line);
  if (is_new) return;
  faults.add(
      {cell.place,
       errors::quoted(row.swatch) + " a second time (first on line " + std::to_string(first->second) + ")",
       "each swatch once", "remove one of the two rows"});
}

/// As at the prompt, "-" is a grade that can't be given.
std::optional<int> read_given(const textfile::CsvCell& cell, int grades, errors::FaultList& faults) {
  if (cell.text == "-") return std::nullopt;
  return read_grade_cell(cell, grades, faults);
}

}  // namespace

std::vector<GradeRow> parse_grade_import(std::string_view text, const std::string& name,
                                         const design::Grid& grid, const ImportDefaults& defaults) {
  FROSTCAL_ASSERT(textfile::is_utc_time(defaults.graded_at), "a time for rows without one");
  errors::FaultList faults;
  const std::optional<std::string> converted = textfile::utf8_from_utf16(text);
  const textfile::CsvTable table = textfile::read_csv(
      converted ? *converted : text, name,
      {{"swatch", "frost", "chipping"}, {"note", "grader", "graded_at", "bottle"}, kGradesFormat}, faults);
  const SwatchNames swatches(grid);
  std::map<std::pair<std::string, std::string>, int> seen;
  std::vector<GradeRow> rows;
  bool nobody = false;  // said once
  for (const textfile::CsvRow& cells : table.rows) {
    const bool left_empty = cells.cell(kFrost).text.empty() && cells.cell(kChipping).text.empty() &&
                            cells.cell(kNote).text.empty();
    if (left_empty && swatches.find(cells.cell(kSwatch).text)) continue;
    GradeRow row;
    row.line = cells.line();
    row.swatch = swatches.read(cells.cell(kSwatch), faults);
    if (!row.swatch.empty()) check_bottle(cells.cell(kBottle), row.swatch, grid, faults);
    row.frost = read_given(cells.cell(kFrost), shop::kFrostGrades, faults);
    row.chipping = read_given(cells.cell(kChipping), shop::kChippingGrades, faults);
    row.note = read_text(cells.cell(kNote), textfile::kLongestNote, faults);
    row.grader = read_text(cells.cell(kGrader), textfile::kLongestName, faults);
    if (row.grader.empty()) row.grader = defaults.grader;
    if (row.grader.empty() && !std::exchange(nobody, true)) {
      faults.add({cells.cell(kGrader).place, "no grader", "who graded", "add --grader NAME"});
    }
    row.graded_at = read_time(cells.cell(kGradedAt), defaults.graded_at, faults);
    if (!row.swatch.empty()) check_doubled(cells.cell(kSwatch), row, seen, faults);
    rows.push_back(std::move(row));
  }
  if (rows.empty() && faults.empty()) {
    faults.add({{name, 0, 0, ""}, "no grades", "a row with frost and chipping for each graded swatch", ""});
  }
  const bool all_by_others = std::none_of(rows.begin(), rows.end(),
                                          [&](const GradeRow& row) { return row.grader == defaults.grader; });
  if (faults.empty() && !defaults.grader.empty() && all_by_others) {
    faults.add({{name, rows.front().line, 0, "grader"},
                errors::quoted(rows.front().grader) + ", and no row that names " +
                    errors::quoted(defaults.grader) + " or nobody",
                "a row that --grader " + defaults.grader + " is for",
                "leave out --grader, or correct the column"});
  }
  faults.throw_if_any();
  return rows;
}

ImportChange change_by_import(const design::Grid& grid, const std::vector<GradeRow>& before,
                              const std::vector<GradeRow>& imported) {
  ImportChange change;
  const std::vector<SwatchGrade> old_grades = effective_grades(grid, before);
  std::vector<GradeRow> rows = imported;
  std::vector<GradeRow> all = before;
  std::set<std::pair<std::string, std::string>> emptied;  // swatch and grader
  for (GradeRow& row : rows) {
    const ChippingBefore said = chipping_before(before, row);
    const SwatchGrade* was = grade_in(old_grades, row);
    if (row.frost && said.raised && row.chipping.value_or(0) < *said.raised) {
      row.chipping.reset();  // a row with frost alone leaves chipping as it is
      change.later_looks.push_back(row.swatch);
    } else if (row.frost && !row.chipping && said.graded) {
      emptied.emplace(row.swatch, row.grader);
      if (row.note.empty()) row.note = was->note;
      all.push_back(taking_back(row));
    }
    all.push_back(row);
  }
  const std::vector<SwatchGrade> new_grades = effective_grades(grid, all);
  for (const GradeRow& row : rows) {
    const SwatchGrade* was = grade_in(old_grades, row);
    const SwatchGrade* is = grade_in(new_grades, row);
    const bool graded_alike =
        was != nullptr && is != nullptr && was->frost == is->frost && was->chipping == is->chipping;
    if (graded_alike) ++change.same;
    if (was != nullptr && !graded_alike) ++change.replaced;
    if (graded_alike && was->note == is->note) continue;
    if (emptied.count({row.swatch, row.grader}) != 0) change.rows.push_back(taking_back(row));
    change.rows.push_back(row);
    ++change.graded;
  }
  return change;
}

std::string grade_form(const design::Grid& grid) {
  std::string text = textfile::csv_line({"swatch", "bottle", "frost", "chipping", "note"});
  for (const std::size_t i : design::grading_order(grid)) {
    text += textfile::csv_line({grid.swatches[i].id, grid.swatches[i].bottle, "", "", ""});
  }
  return text;
}

}  // namespace frostcal::grades
