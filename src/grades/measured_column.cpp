#include "grades/measured_column.hpp"

#include <map>
#include <optional>

#include "grades/grade_cells.hpp"
#include "grades/grade_file.hpp"
#include "textfile/append_row.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/open_file.hpp"

namespace frostcal::grades {

namespace {

constexpr textfile::NumberRange kAnyNumber{-1e12, 1e12};

double mean(const std::map<std::string, double>& by_grader) {
  double sum = 0;
  for (const auto& [grader, value] : by_grader) sum += value;
  return sum / static_cast<double>(by_grader.size());
}

}  // namespace

MeasuredColumn parse_measured(std::string_view text, const std::string& name, const design::Grid& grid,
                              const std::string& column, const std::string& as_of,
                              errors::FaultList& faults) {
  const textfile::CsvTable table = textfile::read_csv(
      text, name, {{"swatch", "note", "grader", "graded_at"}, {column}, kGradesFormat}, faults);
  MeasuredColumn result;
  result.header = table.header;
  result.found = !table.has_optional.empty() && table.has_optional.front();
  if (!result.found) return result;
  const SwatchNames swatches(grid);
  std::map<std::string, std::map<std::string, double>> measured;  // swatch, grader
  for (const textfile::CsvRow& row : table.rows) {
    if (!as_of.empty() && row.cell(3).text.substr(0, 10) > as_of) continue;
    const std::string swatch = swatches.read(row.cell(0), faults);
    const std::string grader = textfile::unguarded(row.cell(2).text);
    if (textfile::unguarded(row.cell(1).text) == kTakenBack) measured[swatch].erase(grader);
    if (row.cell(4).text.empty()) continue;
    const std::optional<double> value = textfile::read_number_cell(row.cell(4), kAnyNumber, faults);
    if (value) measured[swatch][grader] = *value;
  }
  for (const design::Swatch& swatch : grid.swatches) {
    const auto found = measured.find(swatch.id);
    if (found == measured.end() || found->second.empty()) continue;
    result.values.push_back({swatch.id, mean(found->second)});
  }
  return result;
}

MeasuredColumn read_measured(const shop::Shop& shop, const design::Grid& grid, const std::string& column,
                             const std::string& as_of, textfile::FileSystem& files) {
  const textfile::AppendedFile layout = grades_layout(shop, grid.id);
  const std::optional<textfile::AppendedText> read = textfile::read_appended(layout, files);
  if (!read || read->text.empty()) return {};
  errors::FaultList faults;
  MeasuredColumn result =
      parse_measured(read->text, textfile::shown(layout.path), grid, column, as_of, faults);
  faults.throw_if_any();
  return result;
}

}  // namespace frostcal::grades
