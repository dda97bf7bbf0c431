// The classical second-order response surface, fitted by least squares in coded units: for a reader who knows
// response surfaces, and as a check on the linear algebra. Decisions never rest on it. Terms and analysis as
// in G. E. P. Box and N. R. Draper, "Empirical Model-Building and Response Surfaces" (1987), and R. V. Lenth,
// "Response-Surface Methods in R, Using rsm", J. Stat. Software 32(7) (2009).
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "design/model_terms.hpp"
#include "numerics/least_squares.hpp"

namespace frostcal::surface {

using design::Order;

/// coded: n x k, rows are swatches, columns factors in coded units. y: n. block: n block numbers from 0 (all
/// 0 = one block); blocks shift the mean.
struct ClassicalData {
  Eigen::MatrixXd coded;
  Eigen::VectorXd y;
  std::vector<int> block;
};

/// One line of the analysis of variance.
struct AnovaRow {
  std::string term;  // blocks, first order, two-way, squares, residual, lack of fit, pure error
  double df = 0;
  double ss = 0;
  double ms = 0;
  double f = 0;  // against the residual; lack of fit against pure error
  double p = 1;
};

struct ClassicalFit {
  Order order = Order::second;
  int factors = 0;
  int blocks = 0;
  /// Columns: intercept, blocks 1.. (treatment coding against block 0), x1.., x1 x2, x1 x3, .., x1^2, ..
  std::vector<std::string> terms;
  numerics::LeastSquaresFit fit;
  std::vector<AnovaRow> anova;  // term groups in sequence, then residual, lack of fit, pure error
  /// Coefficient of each factor, and the symmetric matrix B whose diagonal are the square coefficients and
  /// whose off-diagonals are half the interactions.
  Eigen::VectorXd linear;
  Eigen::MatrixXd quadratic;
  double intercept = 0;
};

/// Throws errors::Bug on wrong shapes. Too few rows or dependent columns show in fit.full_rank and
/// residual_df.
ClassicalFit fit_classical(const ClassicalData& data, Order order);

struct CanonicalAnalysis {
  bool exists = false;               // false: no squares or interactions, or B is singular
  Eigen::VectorXd stationary_point;  // -B^-1 b / 2, coded
  Eigen::VectorXd eigenvalues;       // of B, largest first
  Eigen::MatrixXd eigenvectors;      // columns, in the same order; the sign of each is free
};
CanonicalAnalysis canonical_analysis(const ClassicalFit& fit);

/// The stationary point with the eigenvalues whose absolute value is under `threshold` set to zero: the point
/// of the stationary ridge nearest the origin (Lenth 2009, section 5).
Eigen::VectorXd ridge_centre(const ClassicalFit& fit, double threshold);

/// Highest predicted point at distance `radius` from the coded origin: (B - mu I) x = -b / 2 with mu above
/// the largest eigenvalue (N. R. Draper, Technometrics 5 (1963) 469-479, from memory).
struct RidgePoint {
  double radius = 0;
  double multiplier = 0;
  Eigen::VectorXd coded;
  double predicted = 0;  // in block 0
};
RidgePoint ridge_point(const ClassicalFit& fit, double radius);

/// Unit vector of steepest ascent of the first-order part.
Eigen::VectorXd steepest_ascent(const ClassicalFit& fit);

/// Prediction in block 0 and its standard error (of the mean response).
struct Prediction {
  double value = 0;
  double standard_error = 0;
};
Prediction predict(const ClassicalFit& fit, const Eigen::VectorXd& coded);

}  // namespace frostcal::surface
