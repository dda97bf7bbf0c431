#include "numerics/least_squares.hpp"

#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <limits>

#include "errors/bug.hpp"
#include "numerics/distributions.hpp"

namespace frostcal::numerics {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

using Extended = Eigen::Matrix<long double, Eigen::Dynamic, 1>;
using PivotedQr = Eigen::ColPivHouseholderQR<MatrixXd>;

// y - x * coefficients, with products and sums in extended precision.
VectorXd exact_residuals(const MatrixXd& x, const VectorXd& y, const Extended& coefficients) {
  Extended sums = y.cast<long double>();
  for (Index j = 0; j < x.cols(); ++j) {
    const long double coefficient = coefficients[j];
    for (Index i = 0; i < x.rows(); ++i) sums[i] -= static_cast<long double>(x(i, j)) * coefficient;
  }
  return sums.cast<double>();
}

double weighted_mean(const VectorXd& values, const VectorXd& root_weights) {
  long double sum = 0;
  long double weight = 0;
  for (Index i = 0; i < values.size(); ++i) {
    const long double w = static_cast<long double>(root_weights[i]) * root_weights[i];
    sum += w * values[i];
    weight += w;
  }
  return static_cast<double>(sum / weight);
}

double sum_of_squares(const VectorXd& values, const VectorXd& root_weights, double about) {
  long double sum = 0;
  for (Index i = 0; i < values.size(); ++i) {
    const long double d = (static_cast<long double>(values[i]) - about) * root_weights[i];
    sum += d * d;
  }
  return static_cast<double>(sum);
}

// Coefficients for x and y, the columns of x being scale times those that were factored.
Extended solve(const PivotedQr& qr, const MatrixXd& x, const VectorXd& y, const VectorXd& scale) {
  Extended coefficients = Extended::Zero(x.cols());
  VectorXd residuals = y;
  double last_step = std::numeric_limits<double>::infinity();
  for (int pass = 0; pass < 4; ++pass) {
    const VectorXd scaled_step = qr.solve(residuals);
    const double step = scaled_step.norm();
    if (pass > 0 && !(step < 0.5 * last_step)) break;
    for (Index j = 0; j < x.cols(); ++j) coefficients[j] += scaled_step[j] / scale[j];
    residuals = exact_residuals(x, y, coefficients);
    last_step = step;
  }
  return coefficients;
}

// (x'wx)^-1 and leverages from the triangular factor.
void set_covariance(const PivotedQr& qr, const VectorXd& scale, Index n, LeastSquaresFit& fit) {
  const Index rank = qr.rank();
  const MatrixXd r = qr.matrixQR().topLeftCorner(rank, rank).template triangularView<Eigen::Upper>();
  MatrixXd root = MatrixXd::Zero(scale.size(), rank);
  root.topRows(rank) = r.template triangularView<Eigen::Upper>().solve(MatrixXd::Identity(rank, rank));
  root = qr.colsPermutation() * root;
  root = scale.cwiseInverse().asDiagonal() * root;
  fit.unscaled_covariance = root * root.transpose();
  const MatrixXd q = qr.householderQ() * MatrixXd::Identity(n, rank);
  fit.leverages = q.rowwise().squaredNorm();
}

void set_analysis(const VectorXd& y, const VectorXd& root_weights, bool has_intercept, LeastSquaresFit& fit) {
  const double intercept = has_intercept ? 1.0 : 0.0;
  const double n = static_cast<double>(y.size());
  const double mean = has_intercept ? weighted_mean(y, root_weights) : 0.0;
  fit.regression_df = fit.rank - intercept;
  fit.residual_df = n - fit.rank;
  fit.total_ss = sum_of_squares(y, root_weights, mean);
  fit.residual_ss = sum_of_squares(fit.residuals, root_weights, 0);
  fit.regression_ss = sum_of_squares(fit.fitted, root_weights, mean);
  // What rounding of y alone would leave: y does not vary.
  const double epsilon = std::numeric_limits<double>::epsilon();
  if (fit.total_ss <= 4 * n * epsilon * epsilon * sum_of_squares(y, root_weights, 0)) {
    fit.total_ss = fit.residual_ss = fit.regression_ss = 0;
  }
  const double mean_square = fit.residual_df > 0 ? fit.residual_ss / fit.residual_df : 0;
  fit.residual_sd = std::sqrt(mean_square);
  fit.standard_errors = fit.residual_sd * fit.unscaled_covariance.diagonal().cwiseSqrt();
  if (fit.total_ss > 0) fit.r_squared = 1 - fit.residual_ss / fit.total_ss;
  if (fit.total_ss > 0 && fit.residual_df > 0) {
    fit.adjusted_r_squared = 1 - mean_square / (fit.total_ss / (n - intercept));
    if (fit.regression_df > 0) {
      fit.f_statistic = mean_square > 0 ? fit.regression_ss / fit.regression_df / mean_square
                                        : std::numeric_limits<double>::infinity();
      fit.f_p_value = f_upper_tail(fit.f_statistic, fit.regression_df, fit.residual_df);
    }
  }
  for (Index i = 0; i < y.size(); ++i) {
    const double left = 1 - fit.leverages[i];
    // A row that alone determines a coefficient cannot be predicted from the others.
    fit.press += left > 1e-10 ? std::pow(root_weights[i] * fit.residuals[i] / left, 2)
                              : std::numeric_limits<double>::infinity();
  }
  fit.predicted_r_squared = fit.total_ss > 0 ? 1 - fit.press / fit.total_ss : 0;
}

}  // namespace

LeastSquaresFit fit_least_squares(const MatrixXd& x, const VectorXd& y, const LeastSquaresOptions& options) {
  FROSTCAL_ASSERT(x.rows() == y.size() && x.rows() > 0 && x.cols() > 0,
                  "least squares needs matching shapes");
  FROSTCAL_ASSERT(x.allFinite() && y.allFinite(), "least squares needs finite values");
  const Index p = x.cols();
  const bool weighted = options.weights.size() > 0;
  FROSTCAL_ASSERT(!weighted || (options.weights.size() == y.size() && options.weights.allFinite() &&
                                options.weights.minCoeff() > 0),
                  "one positive weight per row");
  const VectorXd root_weights = weighted ? VectorXd(options.weights.cwiseSqrt()) : VectorXd::Ones(y.size());
  const MatrixXd weighted_x = weighted ? MatrixXd(root_weights.asDiagonal() * x) : MatrixXd();
  const VectorXd weighted_y = weighted ? VectorXd(root_weights.cwiseProduct(y)) : VectorXd();
  const MatrixXd& rows = weighted ? weighted_x : x;
  const VectorXd& target = weighted ? weighted_y : y;

  VectorXd scale(p);
  for (Index j = 0; j < p; ++j) {
    const double length = rows.col(j).norm();
    scale[j] = length > 0 ? length : 1.0;
  }
  const MatrixXd scaled = rows * scale.cwiseInverse().asDiagonal();
  PivotedQr qr;
  qr.setThreshold(options.rank_tolerance);
  qr.compute(scaled);

  LeastSquaresFit fit;
  fit.rank = static_cast<int>(qr.rank());
  fit.full_rank = qr.rank() == p;
  for (Index j = qr.rank(); j < p; ++j) {
    fit.dependent_columns.push_back(static_cast<int>(qr.colsPermutation().indices()[j]));
  }
  std::sort(fit.dependent_columns.begin(), fit.dependent_columns.end());
  const VectorXd pivots = qr.matrixQR().diagonal().cwiseAbs();
  fit.pivot_ratio = pivots.size() == p && pivots.maxCoeff() > 0 ? pivots.minCoeff() / pivots.maxCoeff() : 0;

  Extended coefficients(p);
  if (fit.full_rank) {
    coefficients = solve(qr, rows, target, scale);
  } else {
    Eigen::CompleteOrthogonalDecomposition<MatrixXd> least_norm;
    least_norm.setThreshold(options.rank_tolerance);
    least_norm.compute(scaled);
    const VectorXd solution = least_norm.solve(target).cwiseQuotient(scale);
    coefficients = solution.cast<long double>();
  }
  fit.coefficients = coefficients.cast<double>();
  fit.residuals = exact_residuals(x, y, coefficients);
  fit.fitted = y - fit.residuals;
  set_covariance(qr, scale, x.rows(), fit);
  set_analysis(y, root_weights, options.has_intercept, fit);
  return fit;
}

}  // namespace frostcal::numerics
