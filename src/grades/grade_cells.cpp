#include "grades/grade_cells.hpp"

#include "errors/ascii.hpp"
#include "errors/bug.hpp"

namespace frostcal::grades {

SwatchNames::SwatchNames(const design::Grid& grid) {
  for (const design::Swatch& swatch : grid.swatches) {
    ids_.push_back(swatch.id);
    known_.insert(swatch.id);
  }
}

std::optional<std::string> SwatchNames::find(const std::string& text) const {
  if (knows(text)) return text;
  std::string id = errors::to_upper(text);
  const std::size_t digits = id.find_first_of("0123456789");
  while (digits != std::string::npos && digits + 1 < id.size() && id[digits] == '0') id.erase(digits, 1);
  return knows(id) ? std::optional<std::string>(id) : std::nullopt;
}

std::string SwatchNames::read(const textfile::CsvCell& cell, errors::FaultList& faults) const {
  if (const std::optional<std::string> id = find(cell.text)) return *id;
  const std::string near = errors::nearest(cell.text, ids_);
  const std::string range = ids_.empty() ? "" : " (" + ids_.front() + " to " + ids_.back() + ")";
  faults.add({cell.place, cell.text.empty() ? "an empty cell" : errors::quoted(cell.text),
              "a swatch of this grid" + range, near.empty() ? "" : "did you mean " + near + "?"});
  return "";
}

std::optional<int> read_grade_cell(const textfile::CsvCell& cell, int grades, errors::FaultList& faults) {
  if (cell.text.empty()) return std::nullopt;
  const auto grade = textfile::read_integer_cell(cell, {0, static_cast<double>(grades - 1)}, faults);
  return grade ? std::optional<int>(static_cast<int>(*grade)) : std::nullopt;
}

std::optional<GradeRange> read_range_cell(const textfile::CsvCell& cell, int grades,
                                          errors::FaultList& faults) {
  const std::string sign = cell.text.substr(0, 2);
  if (sign != ">=" && sign != "<=") {
    const std::optional<int> grade = read_grade_cell(cell, grades, faults);
    return grade ? std::optional<GradeRange>(*grade) : std::nullopt;
  }
  const std::size_t number = cell.text.find_first_not_of(' ', 2);
  textfile::CsvCell limit = cell;
  limit.text = number == std::string::npos ? "" : cell.text.substr(number);
  if (limit.text.empty()) {
    const std::string expected = "a grade behind " + sign + ", such as " + sign + (sign == ">=" ? "4" : "1");
    faults.add({cell.place, errors::quoted(cell.text), expected, ""});
    return std::nullopt;
  }
  const std::optional<int> grade = read_grade_cell(limit, grades, faults);
  if (!grade) return std::nullopt;
  return sign == ">=" ? GradeRange(*grade, grades - 1) : GradeRange(0, *grade);
}

std::string range_text(const std::optional<GradeRange>& range, int grades) {
  if (!range) return "";
  if (range->is_plain()) return std::to_string(range->lowest);
  FROSTCAL_ASSERT(range->lowest == 0 || range->highest == grades - 1, "a range that is open at one end");
  return range->highest == grades - 1 ? ">=" + std::to_string(range->lowest)
                                      : "<=" + std::to_string(range->highest);
}

}  // namespace frostcal::grades
