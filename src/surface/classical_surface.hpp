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

/// coded = (natural - centre) / half_range, factor by factor.
struct Coding {
  Eigen::VectorXd centre;      // k
  Eigen::VectorXd half_range;  // k, positive

  Eigen::MatrixXd coded(const Eigen::MatrixXd& natural) const;  // n x k
  Eigen::VectorXd natural(const Eigen::VectorXd& coded) const;
};

/// The middle and half the range of each column; a column of one value gets half_range 1.
Coding range_coding(const Eigen::MatrixXd& natural);

/// coded: n x k, rows are swatches, columns factors in coded units. y: n. block: n block numbers from 0 (all
/// 0 = one block); blocks shift the mean. weights: n, or empty.
struct ClassicalData {
  Eigen::MatrixXd coded;
  Eigen::VectorXd y;
  std::vector<int> block;
  Eigen::VectorXd weights;
};

/// x_first alone (second = -1), the product of two factors (first < second), or a square (first == second).
struct ModelTerm {
  int first = 0;
  int second = -1;
};
std::vector<ModelTerm> model_terms(int factors, Order order);

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
  int factors = 0;
  int blocks = 0;
  std::vector<ModelTerm> model;
  /// Columns: intercept, block2.. (treatment coding against the first block), then the model's terms: x1,
  /// x1:x2, x1^2.
  std::vector<std::string> terms;
  numerics::LeastSquaresFit fit;
  std::vector<AnovaRow> anova;  // term groups in sequence, then residual, lack of fit, pure error
  /// Coefficient of each factor, and the symmetric matrix B whose diagonal are the square coefficients and
  /// whose off-diagonals are half the interactions. Absent terms are 0.
  Eigen::VectorXd linear;
  Eigen::MatrixXd quadratic;
  double intercept = 0;
};

/// Throws errors::Bug on wrong shapes. Too few rows or dependent columns show in fit.full_rank and
/// residual_df. Model terms must be first-order ones, then two-way, then squares.
ClassicalFit fit_classical(const ClassicalData& data, const std::vector<ModelTerm>& model);
ClassicalFit fit_classical(const ClassicalData& data, Order order);

enum class StationaryKind { maximum, minimum, saddle };

struct CanonicalAnalysis {
  bool exists = false;               // false: no squares or interactions, dependent columns, or B is singular
  Eigen::VectorXd stationary_point;  // -B^-1 b / 2, coded
  Eigen::VectorXd eigenvalues;       // of B, largest first
  Eigen::MatrixXd eigenvectors;      // columns, in the same order; the sign of each is free
  StationaryKind kind = StationaryKind::saddle;
};
CanonicalAnalysis canonical_analysis(const ClassicalFit& fit);

/// Highest predicted point at distance `radius` from the coded origin: (B - mu I) x = -b / 2 with mu at or
/// above the largest eigenvalue (N. R. Draper, Technometrics 5 (1963) 469-479, from memory). Where several
/// points are equally high, one of them. Without squares and interactions it is the path of steepest ascent.
struct RidgePoint {
  double radius = 0;
  double multiplier = 0;
  Eigen::VectorXd coded;
  double predicted = 0;  // in block 0
};
RidgePoint ridge_point(const ClassicalFit& fit, double radius);

/// Prediction and its standard error (of the mean response); the block counts from 0.
struct Prediction {
  double value = 0;
  double standard_error = 0;
};
Prediction predict(const ClassicalFit& fit, const Eigen::VectorXd& coded, int block = 0);

/// t = coefficient / standard error and its two-sided p value; 0 and 1 without degrees of freedom.
struct TermTest {
  double t = 0;
  double p = 1;
};
TermTest term_test(const ClassicalFit& fit, int column);

}  // namespace frostcal::surface
