// The shape of a fitted second-order surface: stationary point, axes and ridge.
#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <limits>

#include "errors/bug.hpp"
#include "surface/classical_surface.hpp"

namespace frostcal::surface {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

struct Axes {
  VectorXd curvature;  // ascending
  MatrixXd directions;
  VectorXd slope;  // along each direction
};

Axes axes_of(const ClassicalFit& fit) {
  const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(fit.quadratic);
  return {solver.eigenvalues(), solver.eigenvectors(), solver.eigenvectors().transpose() * fit.linear};
}

// Solution of (B - mu I) x = -b / 2 along the axes, for mu above every curvature.
VectorXd along_axes(const Axes& axes, double mu) {
  VectorXd place = VectorXd::Zero(axes.slope.size());
  for (Index i = 0; i < place.size(); ++i) {
    if (axes.slope[i] != 0) place[i] = 0.5 * axes.slope[i] / (mu - axes.curvature[i]);
  }
  return place;
}

}  // namespace

CanonicalAnalysis canonical_analysis(const ClassicalFit& fit) {
  CanonicalAnalysis analysis;
  if (!fit.fit.full_rank) return analysis;
  const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(fit.quadratic);
  analysis.eigenvalues = solver.eigenvalues().reverse();
  analysis.eigenvectors = solver.eigenvectors().rowwise().reverse();
  const double largest = analysis.eigenvalues.cwiseAbs().maxCoeff();
  if (largest <= 0 || analysis.eigenvalues.cwiseAbs().minCoeff() < 1e-12 * largest) return analysis;
  analysis.stationary_point = -0.5 * fit.quadratic.fullPivLu().solve(fit.linear);
  analysis.exists = true;
  if (analysis.eigenvalues.maxCoeff() < 0) analysis.kind = StationaryKind::maximum;
  if (analysis.eigenvalues.minCoeff() > 0) analysis.kind = StationaryKind::minimum;
  return analysis;
}

RidgePoint ridge_point(const ClassicalFit& fit, double radius) {
  FROSTCAL_ASSERT(std::isfinite(radius) && radius >= 0, "a ridge needs a radius");
  const Axes axes = axes_of(fit);
  const Index last = axes.slope.size() - 1;
  RidgePoint point;
  point.radius = radius;
  point.multiplier = std::numeric_limits<double>::infinity();
  VectorXd place = VectorXd::Zero(axes.slope.size());
  if (radius > 0) {
    // The distance falls from its limit to 0 as mu rises above the largest curvature.
    const double top = axes.curvature[last];
    double low = top;
    double high = top + axes.slope.norm() / radius;
    for (int i = 0; i < 200; ++i) {
      const double middle = 0.5 * (low + high);
      if (middle <= low || middle >= high) break;
      (along_axes(axes, middle).norm() > radius ? low : high) = middle;
    }
    point.multiplier = high;
    if (high > top) place = along_axes(axes, high);
    // No slope along the steepest axis: its limit is shorter than the radius, and either end is as high.
    const double missing = radius * radius - place.squaredNorm();
    if (missing > 1e-9 * radius * radius) {
      const double end = std::sqrt(std::max(0.0, missing + place[last] * place[last]));
      place[last] = axes.slope[last] < 0 ? -end : end;
    }
  }
  point.coded = axes.directions * place;
  point.predicted =
      fit.intercept + fit.linear.dot(point.coded) + point.coded.dot(fit.quadratic * point.coded);
  return point;
}

}  // namespace frostcal::surface
