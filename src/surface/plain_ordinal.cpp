#include "surface/plain_ordinal.hpp"

#include <algorithm>
#include <set>

#include "textfile/csv_reader.hpp"
#include "textfile/number_text.hpp"

namespace frostcal::surface {

using Eigen::Index;

namespace {

/// A standard error of the linear predictor beyond this, over a column's own range, means that the likelihood
/// is flat there: a probit or logit of 30 is a chance that no data can tell from 1. Our own choice.
constexpr double kFlatError = 30;

struct Row {
  const textfile::CsvRow* cells = nullptr;
  long long grade = 0;
  double weight = 1;
};

std::vector<Row> graded_rows(const textfile::CsvTable& table, std::size_t weight_column,
                             errors::FaultList& faults) {
  std::vector<Row> rows;
  for (const textfile::CsvRow& cells : table.rows) {
    Row row;
    row.cells = &cells;
    const std::optional<long long> grade = textfile::read_integer_cell(cells.cell(0), {-1e6, 1e6}, faults);
    if (grade) row.grade = *grade;
    if (weight_column > 0) {
      const std::optional<double> weight =
          textfile::read_number_cell(cells.cell(weight_column), {0, 1e9}, faults);
      row.weight = weight.value_or(0);
    }
    if (row.weight > 0) rows.push_back(row);
  }
  return rows;
}

/// One explanatory column as columns of the design.
void add_column(const std::vector<Row>& rows, std::size_t at, const errors::SourcePlace& place,
                const std::string* reference, PlainOrdinal& result, errors::FaultList& faults) {
  std::set<std::string> levels;
  bool numbers = reference == nullptr;
  for (const Row& row : rows) {
    const textfile::CsvCell& cell = row.cells->cell(at);
    if (cell.text.empty()) faults.add({cell.place, "an empty cell", "a number or a name", ""});
    levels.insert(cell.text);
    numbers = numbers && textfile::parse_number(cell.text).has_value();
  }
  const auto append = [&](const std::string& coefficient, const auto& value) {
    const Index column = result.design.cols();
    result.design.conservativeResize(Eigen::NoChange, column + 1);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      result.design(static_cast<Index>(i), column) = value(rows[i].cells->cell(at).text);
    }
    result.coefficients.push_back(coefficient);
  };
  if (levels.size() < 2) {
    faults.add(
        {place, "the same value in every row", "at least two different ones", "leave this column out"});
    return;
  }
  if (numbers) {
    append(place.field, [](const std::string& text) { return *textfile::parse_number(text); });
    return;
  }
  const std::string base = reference == nullptr ? *levels.begin() : *reference;
  if (levels.erase(base) == 0) {
    faults.add({place, "no row with " + errors::quoted(base), "a reference level that occurs", ""});
    return;
  }
  for (const std::string& level : levels) {
    append(place.field + level, [&](const std::string& text) { return text == level ? 1.0 : 0.0; });
  }
}

}  // namespace

PlainOrdinal parse_plain(std::string_view text, const std::string& name, const PlainColumns& columns,
                         errors::FaultList& faults) {
  std::vector<std::string> wanted{columns.grade};
  wanted.insert(wanted.end(), columns.by.begin(), columns.by.end());
  if (!columns.weight.empty()) wanted.push_back(columns.weight);
  const textfile::CsvTable table = textfile::read_csv(text, name, {wanted, {}}, faults);
  PlainOrdinal result;
  if (!faults.empty()) return result;
  const std::vector<Row> rows = graded_rows(table, columns.weight.empty() ? 0 : wanted.size() - 1, faults);
  std::set<long long> grades;
  for (const Row& row : rows) grades.insert(row.grade);
  if (faults.empty() && grades.size() < 2) {
    faults.add({{name, 0, 0, columns.grade},
                rows.empty() ? "no graded row" : "one grade only",
                "at least two different grades",
                ""});
  }
  if (!faults.empty()) return result;
  result.grades.assign(grades.begin(), grades.end());
  result.design.resize(static_cast<Index>(rows.size()), 0);
  result.weight.resize(static_cast<Index>(rows.size()));
  for (std::size_t i = 0; i < rows.size(); ++i) {
    result.weight[static_cast<Index>(i)] = rows[i].weight;
    result.category.push_back(static_cast<int>(std::distance(grades.begin(), grades.find(rows[i].grade))));
  }
  for (std::size_t k = 0; k < columns.by.size(); ++k) {
    const auto reference = columns.reference.find(columns.by[k]);
    add_column(rows, k + 1, {name, 0, 0, columns.by[k]},
               reference == columns.reference.end() ? nullptr : &reference->second, result, faults);
  }
  return result;
}

PlainFit fit_plain(const PlainOrdinal& data, Link link) {
  CumulativeLinkModel model =
      free_cutpoint_model(link, data.design, data.category, static_cast<int>(data.grades.size()));
  model.weight = data.weight;
  NewtonOptions options;
  options.decrement_tolerance = 1e-18;
  const PosteriorMode mode = find_mode(model, empirical_start(model), options);
  const Index cuts = model.cutpoint_map.cols();
  PlainFit fit;
  fit.status = mode.status;
  fit.iterations = mode.iterations;
  fit.log_likelihood = mode.at_mode.log_likelihood;
  fit.cutpoints = mode.theta.head(cuts);
  fit.coefficients = mode.theta.tail(data.design.cols());
  fit.separated = mode.status != NewtonStatus::converged;
  if (!mode.factor.positive()) return fit;
  const Eigen::VectorXd errors = mode.factor.variances().cwiseSqrt();
  fit.cutpoint_errors = errors.head(cuts);
  fit.coefficient_errors = errors.tail(data.design.cols());
  for (Index k = 0; k < data.design.cols(); ++k) {
    const double range = data.design.col(k).maxCoeff() - data.design.col(k).minCoeff();
    fit.separated = fit.separated || !(fit.coefficient_errors[k] * range < kFlatError);
  }
  return fit;
}

}  // namespace frostcal::surface
