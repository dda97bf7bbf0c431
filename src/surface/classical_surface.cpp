#include "surface/classical_surface.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "errors/bug.hpp"
#include "numerics/distributions.hpp"

namespace frostcal::surface {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

enum Group { first_order, two_way, squares };
constexpr const char* kGroupNames[] = {"first order", "two-way", "squares"};

Group group_of(const ModelTerm& term) {
  if (term.second < 0) return first_order;
  return term.first == term.second ? squares : two_way;
}

std::string name_of(const ModelTerm& term) {
  std::string first = "x" + std::to_string(term.first + 1);
  if (term.second < 0) return first;
  return term.first == term.second ? first + "^2" : first + ":x" + std::to_string(term.second + 1);
}

VectorXd column(const MatrixXd& coded, const ModelTerm& term) {
  if (term.second < 0) return coded.col(term.first);
  return coded.col(term.first).cwiseProduct(coded.col(term.second));
}

// Intercept, blocks after the first, terms.
MatrixXd model_columns(const MatrixXd& coded, const std::vector<int>& block, int blocks,
                       const std::vector<ModelTerm>& model) {
  MatrixXd x = MatrixXd::Zero(coded.rows(), static_cast<Index>(blocks + model.size()));
  x.col(0).setOnes();
  for (Index i = 0; i < coded.rows(); ++i) {
    const int b = block[static_cast<std::size_t>(i)];
    if (b > 0) x(i, b) = 1;
  }
  Index at = blocks;
  for (const ModelTerm& term : model) x.col(at++) = column(coded, term);
  return x;
}

AnovaRow row_against(const std::string& term, double df, double ss, double error_df, double error_ss) {
  AnovaRow row;
  row.term = term;
  row.df = df;
  row.ss = std::max(0.0, ss);
  row.ms = df > 0 ? row.ss / df : 0;
  if (df > 0 && error_df > 0 && error_ss > 0) {
    row.f = row.ms / (error_ss / error_df);
    row.p = numerics::f_upper_tail(row.f, df, error_df);
  }
  return row;
}

struct SquaredError {
  double df = 0;
  double ss = 0;
};

// Sum of squares of repeats about their own means, within block and point.
SquaredError pure_error(const ClassicalData& data) {
  std::map<std::vector<double>, std::vector<Index>> points;
  for (Index i = 0; i < data.y.size(); ++i) {
    std::vector<double> key{static_cast<double>(data.block[static_cast<std::size_t>(i)])};
    for (Index j = 0; j < data.coded.cols(); ++j) key.push_back(std::round(data.coded(i, j) * 1e8) / 1e8);
    points[key].push_back(i);
  }
  const auto weight = [&](Index i) { return data.weights.size() > 0 ? data.weights[i] : 1.0; };
  SquaredError error;
  for (const auto& [key, rows] : points) {
    double sum = 0;
    double weights = 0;
    for (const Index i : rows) {
      sum += weight(i) * data.y[i];
      weights += weight(i);
    }
    for (const Index i : rows) error.ss += weight(i) * std::pow(data.y[i] - sum / weights, 2);
    error.df += static_cast<double>(rows.size()) - 1;
  }
  return error;
}

// Sequential sums of squares, group after group, then lack of fit and pure error.
std::vector<AnovaRow> analysis_of_variance(const ClassicalData& data, const MatrixXd& x,
                                           const ClassicalFit& result,
                                           const numerics::LeastSquaresOptions& options) {
  std::vector<std::pair<std::string, Index>> groups;
  if (result.blocks > 1) groups.emplace_back("blocks", result.blocks - 1);
  for (const Group group : {first_order, two_way, squares}) {
    const auto size = std::count_if(result.model.begin(), result.model.end(),
                                    [&](const ModelTerm& term) { return group_of(term) == group; });
    if (size > 0) groups.emplace_back(kGroupNames[group], size);
  }
  std::vector<AnovaRow> rows;
  const double error_df = result.fit.residual_df;
  const double error_ss = result.fit.residual_ss;
  double left = result.fit.total_ss;
  int rank = 1;
  Index columns = 1;
  for (const auto& [name, size] : groups) {
    columns += size;
    const numerics::LeastSquaresFit part =
        columns == x.cols() ? result.fit : fit_least_squares(x.leftCols(columns), data.y, options);
    rows.push_back(row_against(name, part.rank - rank, left - part.residual_ss, error_df, error_ss));
    left = part.residual_ss;
    rank = part.rank;
  }
  rows.push_back(row_against("residual", error_df, error_ss, 0, 0));
  const SquaredError pure = pure_error(data);
  rows.push_back(row_against("lack of fit", error_df - pure.df, error_ss - pure.ss, pure.df, pure.ss));
  rows.push_back(row_against("pure error", pure.df, pure.ss, 0, 0));
  return rows;
}

}  // namespace

MatrixXd Coding::coded(const MatrixXd& natural) const {
  FROSTCAL_ASSERT(natural.cols() == centre.size(), "one column per factor");
  return (natural.rowwise() - centre.transpose()) * half_range.cwiseInverse().asDiagonal();
}

VectorXd Coding::natural(const VectorXd& coded) const {
  return centre + half_range.cwiseProduct(coded);
}

Coding range_coding(const MatrixXd& natural) {
  FROSTCAL_ASSERT(natural.rows() > 0, "a range needs values");
  Coding coding;
  const VectorXd low = natural.colwise().minCoeff();
  const VectorXd high = natural.colwise().maxCoeff();
  coding.centre = 0.5 * (low + high);
  coding.half_range = 0.5 * (high - low);
  for (Index j = 0; j < coding.half_range.size(); ++j) {
    if (!(coding.half_range[j] > 0)) coding.half_range[j] = 1;
  }
  return coding;
}

std::vector<ModelTerm> model_terms(int factors, Order order) {
  std::vector<ModelTerm> terms;
  for (int i = 0; i < factors; ++i) terms.push_back({i, -1});
  for (int i = 0; order != Order::first && i < factors; ++i) {
    for (int j = i + 1; j < factors; ++j) terms.push_back({i, j});
  }
  for (int i = 0; order == Order::second && i < factors; ++i) terms.push_back({i, i});
  return terms;
}

ClassicalFit fit_classical(const ClassicalData& data, const std::vector<ModelTerm>& model) {
  FROSTCAL_ASSERT(
      data.coded.rows() == data.y.size() && data.block.size() == static_cast<std::size_t>(data.y.size()),
      "one row, one response and one block per swatch");
  FROSTCAL_ASSERT(data.y.size() > 0 && data.coded.cols() > 0, "a response surface needs data");
  FROSTCAL_ASSERT(*std::min_element(data.block.begin(), data.block.end()) >= 0, "blocks count from 0");
  FROSTCAL_ASSERT(
      std::is_sorted(model.begin(), model.end(),
                     [](const ModelTerm& a, const ModelTerm& b) { return group_of(a) < group_of(b); }),
      "first order, then two-way, then squares");
  ClassicalFit result;
  const Index k = data.coded.cols();
  result.factors = static_cast<int>(k);
  result.blocks = 1 + *std::max_element(data.block.begin(), data.block.end());
  result.model = model;
  result.terms.push_back("intercept");
  for (int b = 2; b <= result.blocks; ++b) result.terms.push_back("block" + std::to_string(b));
  for (const ModelTerm& term : model) result.terms.push_back(name_of(term));

  numerics::LeastSquaresOptions options;
  options.weights = data.weights;
  const MatrixXd x = model_columns(data.coded, data.block, result.blocks, model);
  result.fit = numerics::fit_least_squares(x, data.y, options);
  result.anova = analysis_of_variance(data, x, result, options);

  result.intercept = result.fit.coefficients[0];
  result.linear = VectorXd::Zero(k);
  result.quadratic = MatrixXd::Zero(k, k);
  Index at = result.blocks;
  for (const ModelTerm& term : model) {
    const double coefficient = result.fit.coefficients[at++];
    switch (group_of(term)) {
      case first_order:
        result.linear[term.first] = coefficient;
        break;
      case two_way:
        result.quadratic(term.first, term.second) = result.quadratic(term.second, term.first) =
            coefficient / 2;
        break;
      case squares:
        result.quadratic(term.first, term.first) = coefficient;
        break;
    }
  }
  return result;
}

ClassicalFit fit_classical(const ClassicalData& data, Order order) {
  return fit_classical(data, model_terms(static_cast<int>(data.coded.cols()), order));
}

Prediction predict(const ClassicalFit& fit, const VectorXd& coded, int block) {
  FROSTCAL_ASSERT(block >= 0 && block < fit.blocks, "a block of the fit");
  const MatrixXd row = coded.transpose();
  const VectorXd x = model_columns(row, {block}, fit.blocks, fit.model).row(0);
  return {x.dot(fit.fit.coefficients),
          fit.fit.residual_sd * std::sqrt(std::max(0.0, x.dot(fit.fit.unscaled_covariance * x)))};
}

TermTest term_test(const ClassicalFit& fit, int column) {
  TermTest test;
  const double se = fit.fit.standard_errors[column];
  if (fit.fit.residual_df <= 0 || !(se > 0)) return test;
  test.t = fit.fit.coefficients[column] / se;
  test.p = 2 * numerics::t_upper_tail(std::abs(test.t), fit.fit.residual_df);
  return test;
}

}  // namespace frostcal::surface
