#include "surface/classical_surface.hpp"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "errors/bug.hpp"
#include "numerics/distributions.hpp"

namespace frostcal::surface {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

struct Group {
  std::string name;
  Index columns = 0;
};

struct ModelMatrix {
  MatrixXd x;
  std::vector<std::string> terms;
  std::vector<Group> groups;  // without the intercept
};

// Block columns (treatment coding against block 0) stand right after the intercept.
ModelMatrix blocked_model(const MatrixXd& coded, const std::vector<int>& block, int blocks, Order order) {
  const MatrixXd plain = design::model_matrix(coded, order);
  const Index n = coded.rows();
  const Index k = coded.cols();
  ModelMatrix model;
  model.x = MatrixXd::Zero(n, plain.cols() + blocks - 1);
  model.x.col(0) = plain.col(0);
  model.x.rightCols(plain.cols() - 1) = plain.rightCols(plain.cols() - 1);
  model.terms = design::term_names(static_cast<int>(k), order);
  for (int b = 1; b < blocks; ++b) {
    for (Index i = 0; i < n; ++i) model.x(i, b) = block[static_cast<std::size_t>(i)] == b ? 1 : 0;
    model.terms.insert(model.terms.begin() + b, "block" + std::to_string(b + 1));
  }
  if (blocks > 1) model.groups.push_back({"blocks", blocks - 1});
  model.groups.push_back({"first order", k});
  if (order != Order::first && k > 1) model.groups.push_back({"two-way", k * (k - 1) / 2});
  if (order == Order::second) model.groups.push_back({"squares", k});
  return model;
}

AnovaRow row_against(const std::string& term, double df, double ss, double error_df, double error_ss) {
  AnovaRow row;
  row.term = term;
  row.df = df;
  row.ss = ss;
  row.ms = df > 0 ? ss / df : 0;
  if (df > 0 && error_df > 0 && error_ss > 0) {
    row.f = row.ms / (error_ss / error_df);
    row.p = numerics::f_upper_tail(std::max(0.0, row.f), df, error_df);
  }
  return row;
}

// Sum of squares of repeats about their own means, within block and point.
std::pair<double, double> pure_error(const ClassicalData& data) {
  std::map<std::vector<double>, std::vector<double>> points;
  for (Index i = 0; i < data.y.size(); ++i) {
    std::vector<double> key{static_cast<double>(data.block[static_cast<std::size_t>(i)])};
    for (Index j = 0; j < data.coded.cols(); ++j) key.push_back(std::round(data.coded(i, j) * 1e8) / 1e8);
    points[key].push_back(data.y[i]);
  }
  double ss = 0;
  double df = 0;
  for (const auto& [key, values] : points) {
    double mean = 0;
    for (const double value : values) mean += value / static_cast<double>(values.size());
    for (const double value : values) ss += (value - mean) * (value - mean);
    df += static_cast<double>(values.size()) - 1;
  }
  return {df, ss};
}

}  // namespace

ClassicalFit fit_classical(const ClassicalData& data, Order order) {
  FROSTCAL_ASSERT(
      data.coded.rows() == data.y.size() && data.block.size() == static_cast<std::size_t>(data.y.size()),
      "one row, one response and one block per swatch");
  FROSTCAL_ASSERT(data.y.size() > 0 && data.coded.cols() > 0, "a response surface needs data");
  ClassicalFit result;
  result.order = order;
  result.factors = static_cast<int>(data.coded.cols());
  result.blocks = 1 + *std::max_element(data.block.begin(), data.block.end());
  const ModelMatrix model = blocked_model(data.coded, data.block, result.blocks, order);
  result.terms = model.terms;
  result.fit = numerics::fit_least_squares(model.x, data.y);

  // Sequential sums of squares, group after group.
  double left = result.fit.total_ss;
  Index columns = 1;
  const double error_df = result.fit.residual_df;
  const double error_ss = result.fit.residual_ss;
  for (const Group& group : model.groups) {
    columns += group.columns;
    const numerics::LeastSquaresFit part = numerics::fit_least_squares(model.x.leftCols(columns), data.y);
    result.anova.push_back(row_against(group.name, static_cast<double>(group.columns),
                                       left - part.residual_ss, error_df, error_ss));
    left = part.residual_ss;
  }
  result.anova.push_back(row_against("residual", error_df, error_ss, 0, 0));
  const auto [pure_df, pure_ss] = pure_error(data);
  result.anova.push_back(
      row_against("lack of fit", error_df - pure_df, error_ss - pure_ss, pure_df, pure_ss));
  result.anova.push_back(row_against("pure error", pure_df, pure_ss, 0, 0));

  const Index k = data.coded.cols();
  const VectorXd& b = result.fit.coefficients;
  Index at = result.blocks;  // intercept and blocks come first
  result.intercept = b[0];
  result.linear = b.segment(at, k);
  at += k;
  result.quadratic = MatrixXd::Zero(k, k);
  if (order != Order::first) {
    for (Index i = 0; i < k; ++i) {
      for (Index j = i + 1; j < k; ++j) result.quadratic(i, j) = result.quadratic(j, i) = b[at++] / 2;
    }
  }
  if (order == Order::second) {
    for (Index i = 0; i < k; ++i) result.quadratic(i, i) = b[at++];
  }
  return result;
}

CanonicalAnalysis canonical_analysis(const ClassicalFit& fit) {
  CanonicalAnalysis analysis;
  if (fit.order == Order::first) return analysis;
  const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(fit.quadratic);
  analysis.eigenvalues = solver.eigenvalues().reverse();
  analysis.eigenvectors = solver.eigenvectors().rowwise().reverse();
  const double largest = analysis.eigenvalues.cwiseAbs().maxCoeff();
  if (largest <= 0 || analysis.eigenvalues.cwiseAbs().minCoeff() < 1e-12 * largest) return analysis;
  analysis.stationary_point = -0.5 * fit.quadratic.fullPivLu().solve(fit.linear);
  analysis.exists = true;
  return analysis;
}

VectorXd ridge_centre(const ClassicalFit& fit, double threshold) {
  const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(fit.quadratic);
  const VectorXd along = solver.eigenvectors().transpose() * fit.linear;
  VectorXd scaled = VectorXd::Zero(along.size());
  for (Index i = 0; i < along.size(); ++i) {
    if (std::abs(solver.eigenvalues()[i]) >= threshold) scaled[i] = -0.5 * along[i] / solver.eigenvalues()[i];
  }
  return solver.eigenvectors() * scaled;
}

RidgePoint ridge_point(const ClassicalFit& fit, double radius) {
  FROSTCAL_ASSERT(radius >= 0 && fit.linear.norm() > 0, "a ridge needs a radius and a slope");
  const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(fit.quadratic);
  const VectorXd along = solver.eigenvectors().transpose() * fit.linear;
  const double top = solver.eigenvalues().maxCoeff();
  const auto place = [&](double mu) {
    VectorXd scaled(along.size());
    for (Index i = 0; i < along.size(); ++i) scaled[i] = -0.5 * along[i] / (solver.eigenvalues()[i] - mu);
    return VectorXd(solver.eigenvectors() * scaled);
  };
  RidgePoint point;
  point.radius = radius;
  if (radius == 0) {
    point.coded = VectorXd::Zero(along.size());
    point.multiplier = std::numeric_limits<double>::infinity();
  } else {
    // The distance falls from infinity to 0 as mu rises above the largest eigenvalue.
    double low = top;
    double high = top + along.norm() / radius + 1;
    for (int i = 0; i < 200; ++i) {
      const double middle = 0.5 * (low + high);
      (place(middle).norm() > radius ? low : high) = middle;
    }
    point.multiplier = 0.5 * (low + high);
    point.coded = place(point.multiplier);
  }
  point.predicted =
      fit.intercept + fit.linear.dot(point.coded) + point.coded.dot(fit.quadratic * point.coded);
  return point;
}

VectorXd steepest_ascent(const ClassicalFit& fit) {
  return fit.linear.normalized();
}

Prediction predict(const ClassicalFit& fit, const VectorXd& coded) {
  const MatrixXd row = coded.transpose();
  const VectorXd x = blocked_model(row, {0}, fit.blocks, fit.order).x.row(0);
  return {x.dot(fit.fit.coefficients),
          fit.fit.residual_sd * std::sqrt(std::max(0.0, x.dot(fit.fit.unscaled_covariance * x)))};
}

}  // namespace frostcal::surface
