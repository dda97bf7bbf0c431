#include "grades/grade_file.hpp"

#include <algorithm>
#include <set>
#include <unordered_map>
#include <utility>

#include "design/grid_file.hpp"
#include "errors/bug.hpp"
#include "grades/grade_cells.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/open_file.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::grades {

namespace {

const std::vector<std::string> kColumns{"swatch", "frost", "chipping", "note", "grader", "graded_at"};

}  // namespace

textfile::AppendedFile grades_layout(const shop::Shop& shop, const std::string& grid_id) {
  return {shop.folder, design::grades_file(shop, grid_id), kColumns, textfile::is_utc_time, 0, kGradesFormat};
}

std::vector<GradeRow> parse_grades(std::string_view text, const std::string& name, const design::Grid& grid,
                                   errors::FaultList& faults) {
  const textfile::CsvTable table = textfile::read_csv(text, name, {kColumns, {}, kGradesFormat}, faults);
  const SwatchNames swatches(grid);
  std::vector<GradeRow> rows;
  for (const textfile::CsvRow& cells : table.rows) {
    const std::size_t before = faults.count();
    GradeRow row;
    row.swatch = swatches.read(cells.cell(0), faults);
    row.frost = read_grade_cell(cells.cell(1), shop::kFrostGrades, faults);
    row.chipping = read_grade_cell(cells.cell(2), shop::kChippingGrades, faults);
    row.note = textfile::unguarded(cells.cell(3).text);
    row.grader = textfile::read_name_cell(cells.cell(4), "who graded", faults);
    row.graded_at = textfile::read_time_cell(cells.cell(5), faults);
    row.line = cells.line();
    if (faults.count() == before) rows.push_back(std::move(row));
  }
  return rows;
}

std::vector<GradeRow> read_grades(const shop::Shop& shop, const design::Grid& grid,
                                  textfile::FileSystem& files) {
  const textfile::AppendedFile layout = grades_layout(shop, grid.id);
  const std::optional<textfile::AppendedText> read = textfile::read_appended(layout, files);
  if (!read || read->text.empty()) return {};
  errors::FaultList faults;
  std::vector<GradeRow> rows = parse_grades(read->text, textfile::shown(layout.path), grid, faults);
  faults.throw_if_any();
  return rows;
}

textfile::TailRepair append_grades(const shop::Shop& shop, const design::Grid& grid,
                                   const std::vector<GradeRow>& rows, textfile::FileSystem& files) {
  const SwatchNames swatches(grid);
  std::vector<std::vector<std::string>> lines;
  const auto text_of = [](const std::optional<int>& grade) { return grade ? std::to_string(*grade) : ""; };
  for (const GradeRow& row : rows) {
    FROSTCAL_ASSERT(swatches.knows(row.swatch), "a swatch of the grid");
    FROSTCAL_ASSERT(!row.grader.empty() && textfile::is_utc_time(row.graded_at), "a grader and a time");
    lines.push_back({row.swatch, text_of(row.frost), text_of(row.chipping), textfile::guarded(row.note),
                     textfile::guarded(row.grader), row.graded_at});
  }
  return textfile::append_rows(grades_layout(shop, grid.id), lines, files);
}

std::optional<errors::Fault> early_grades(const shop::Shop& shop, const design::Grid& grid,
                                          const std::vector<GradeRow>& rows) {
  const std::optional<int> planned = textfile::day_number(grid.planned_at);
  if (!planned) return std::nullopt;
  const auto is_early = [&](const GradeRow& row) {
    return textfile::is_bare_day(row.graded_at) ? textfile::day_number(row.graded_at) < *planned - 1
                                                : row.graded_at < grid.planned_at;
  };
  std::set<std::pair<std::string, std::string>> taken_back;
  auto early = rows.rend();
  for (auto row = rows.rbegin(); row != rows.rend(); ++row) {
    const std::pair<std::string, std::string> by{row->swatch, row->grader};
    if (takes_back(*row)) taken_back.insert(by);
    if (is_early(*row) && taken_back.count(by) == 0) early = row;  // in the end the first
  }
  if (early == rows.rend()) return std::nullopt;
  return errors::Fault{{textfile::shown(grades_layout(shop, grid.id).path), early->line, 0, "graded_at"},
                       early->graded_at + ", before grid " + grid.id + " was planned",
                       "a time after " + grid.planned_at,
                       "are these the grades of an earlier grid of that number? Then move the file out of "
                       "the shop and grade this "
                       "grid's swatches"};
}

std::optional<errors::Fault> late_grades(const shop::Shop& shop, const design::Grid& grid,
                                         const std::vector<GradeRow>& rows, const std::string& now) {
  const int last = textfile::day_number(now).value() + 1;
  const auto is_late = [&](const GradeRow& row) { return textfile::day_number(row.graded_at) > last; };
  const auto first = std::find_if(rows.begin(), rows.end(), is_late);
  if (first == rows.end()) return std::nullopt;
  errors::Fault fault{
      {textfile::shown(grades_layout(shop, grid.id).path), first->line, 0, "graded_at"},
      first->graded_at + ", but by this computer's clock it is only " + now,
      "a time that has come: a change of the machine over the months is read from these times",
      "correct them there, or this computer's clock"};
  fault.rows_alike = static_cast<int>(std::count_if(first + 1, rows.end(), is_late));
  return fault;
}

bool takes_back(const GradeRow& row) {
  return !row.frost && !row.chipping && row.note == kTakenBack;
}

void apply_row(const GradeRow& row, std::optional<SwatchGrade>& grade) {
  const bool neither = !row.frost && !row.chipping;
  if (takes_back(row)) {
    grade.reset();
    return;
  }
  const std::optional<SwatchGrade> before = grade;
  if (!grade) grade = SwatchGrade{row.swatch, row.grader, std::nullopt, std::nullopt, "", ""};
  if (row.frost || neither) grade->frost = row.frost;
  if (row.frost && row.chipping) {
    grade->chipping = row.chipping;
  } else if (row.chipping) {
    grade->chipping = std::max(grade->chipping.value_or(0), *row.chipping);
  } else if (neither) {
    grade->chipping = std::nullopt;
  }
  if (!row.note.empty()) grade->note = row.note;
  const bool as_it_was = before && before->frost == grade->frost && before->chipping == grade->chipping;
  if (!as_it_was || (row.frost && row.chipping)) grade->graded_at = row.graded_at;
}

std::vector<SwatchGrade> effective_grades(const design::Grid& grid, const std::vector<GradeRow>& rows) {
  struct OfGrader {
    std::string grader;
    std::optional<SwatchGrade> grade;
  };
  std::unordered_map<std::string, std::vector<OfGrader>> by_swatch;
  for (const GradeRow& row : rows) {
    std::vector<OfGrader>& graders = by_swatch[row.swatch];
    auto found = std::find_if(graders.begin(), graders.end(),
                              [&](const OfGrader& entry) { return entry.grader == row.grader; });
    if (found == graders.end()) found = graders.insert(found, {row.grader, std::nullopt});
    apply_row(row, found->grade);
  }
  std::vector<SwatchGrade> effective;
  for (const design::Swatch& swatch : grid.swatches) {
    const auto graders = by_swatch.find(swatch.id);
    if (graders == by_swatch.end()) continue;
    for (const OfGrader& entry : graders->second) {
      if (entry.grade) effective.push_back(*entry.grade);
    }
  }
  return effective;
}

}  // namespace frostcal::grades
