#include "numerics/least_squares.hpp"

#include <Eigen/QR>
#include <cmath>
#include <limits>

#include "errors/bug.hpp"

namespace frostcal::numerics {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

using Extended = Eigen::Matrix<long double, Eigen::Dynamic, 1>;

// y - x * coefficients, with products and sums in extended precision.
VectorXd exact_residuals(const MatrixXd& x, const VectorXd& y, const Extended& coefficients) {
  VectorXd residuals(y.size());
  for (Index i = 0; i < y.size(); ++i) {
    long double sum = y[i];
    for (Index j = 0; j < x.cols(); ++j) sum -= static_cast<long double>(x(i, j)) * coefficients[j];
    residuals[i] = static_cast<double>(sum);
  }
  return residuals;
}

double sum_of_squares(const VectorXd& values, double about) {
  long double sum = 0;
  for (Index i = 0; i < values.size(); ++i) {
    const long double d = static_cast<long double>(values[i]) - about;
    sum += d * d;
  }
  return static_cast<double>(sum);
}

}  // namespace

LeastSquaresFit fit_least_squares(const MatrixXd& x, const VectorXd& y, const LeastSquaresOptions& options) {
  FROSTCAL_ASSERT(x.rows() == y.size() && x.rows() > 0 && x.cols() > 0,
                  "least squares needs matching shapes");
  FROSTCAL_ASSERT(x.allFinite() && y.allFinite(), "least squares needs finite values");
  const Index n = x.rows();
  const Index p = x.cols();
  VectorXd scale(p);
  for (Index j = 0; j < p; ++j) {
    const double length = x.col(j).norm();
    scale[j] = length > 0 ? length : 1.0;
  }
  const MatrixXd scaled = x * scale.cwiseInverse().asDiagonal();

  Eigen::ColPivHouseholderQR<MatrixXd> qr;
  qr.setThreshold(options.rank_tolerance);
  qr.compute(scaled);
  LeastSquaresFit fit;
  fit.rank = static_cast<int>(qr.rank());
  fit.full_rank = qr.rank() == p;
  const VectorXd pivots = qr.matrixQR().diagonal().cwiseAbs();
  fit.pivot_ratio = pivots.size() == p && pivots.maxCoeff() > 0 ? pivots.minCoeff() / pivots.maxCoeff() : 0;

  Extended coefficients = Extended::Zero(p);
  VectorXd residuals = y;
  if (fit.full_rank) {
    for (int pass = 0; pass < 4; ++pass) {
      const VectorXd step = qr.solve(residuals).cwiseQuotient(scale);
      for (Index j = 0; j < p; ++j) coefficients[j] += step[j];
      residuals = exact_residuals(x, y, coefficients);
    }
  } else {
    const VectorXd least_norm =
        Eigen::CompleteOrthogonalDecomposition<MatrixXd>(scaled).solve(y).cwiseQuotient(scale);
    coefficients = least_norm.cast<long double>();
    residuals = exact_residuals(x, y, coefficients);
  }
  fit.coefficients = coefficients.cast<double>();
  fit.residuals = residuals;
  fit.fitted = y - residuals;

  // (x'x)^-1 and leverages from the triangular factor.
  const Index rank = qr.rank();
  const MatrixXd r = qr.matrixQR().topLeftCorner(rank, rank).template triangularView<Eigen::Upper>();
  const MatrixXd inverse = r.template triangularView<Eigen::Upper>().solve(MatrixXd::Identity(rank, rank));
  MatrixXd root = MatrixXd::Zero(p, rank);
  root.topRows(rank) = inverse;
  root = qr.colsPermutation() * root;
  root = scale.cwiseInverse().asDiagonal() * root;
  fit.unscaled_covariance = root * root.transpose();
  const MatrixXd q = qr.householderQ() * MatrixXd::Identity(n, rank);
  fit.leverages = q.rowwise().squaredNorm();

  const double intercept = options.has_intercept ? 1.0 : 0.0;
  const double mean = options.has_intercept ? y.mean() : 0.0;
  fit.regression_df = static_cast<double>(rank) - intercept;
  fit.residual_df = static_cast<double>(n - rank);
  fit.total_ss = sum_of_squares(y, mean);
  fit.residual_ss = sum_of_squares(residuals, 0);
  fit.regression_ss = sum_of_squares(fit.fitted, mean);
  fit.residual_sd = fit.residual_df > 0 ? std::sqrt(fit.residual_ss / fit.residual_df) : 0;
  fit.standard_errors = fit.residual_sd * fit.unscaled_covariance.diagonal().cwiseSqrt();
  if (fit.total_ss > 0) {
    fit.r_squared = 1 - fit.residual_ss / fit.total_ss;
    const double total_df = static_cast<double>(n) - intercept;
    if (fit.residual_df > 0) {
      fit.adjusted_r_squared = 1 - (fit.residual_ss / fit.residual_df) / (fit.total_ss / total_df);
    }
  }
  if (fit.regression_df > 0 && fit.residual_df > 0) {
    const double mean_square = fit.residual_ss / fit.residual_df;
    fit.f_statistic = mean_square > 0 ? fit.regression_ss / fit.regression_df / mean_square
                                      : std::numeric_limits<double>::infinity();
  }
  for (Index i = 0; i < n; ++i) {
    const double left = 1 - fit.leverages[i];
    // A swatch that alone determines a coefficient cannot be predicted from the others.
    fit.press += left > 1e-10 ? std::pow(residuals[i] / left, 2) : std::numeric_limits<double>::infinity();
  }
  fit.predicted_r_squared = fit.total_ss > 0 ? 1 - fit.press / fit.total_ss : 0;
  return fit;
}

}  // namespace frostcal::numerics
