#include "surface/classical_surface.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

using Catch::Matchers::WithinAbs;
using namespace frostcal::surface;
using Eigen::Index;

namespace {

// A fit as if these coefficients had been found.
ClassicalFit surface_of(const Eigen::VectorXd& linear, const Eigen::MatrixXd& quadratic) {
  ClassicalFit fit;
  fit.factors = static_cast<int>(linear.size());
  fit.blocks = 1;
  fit.linear = linear;
  fit.quadratic = quadratic;
  fit.fit.full_rank = true;
  return fit;
}

ClassicalData nine_points() {
  ClassicalData data;
  data.coded.resize(9, 2);
  data.y.resize(9);
  for (int i = 0; i < 9; ++i) {
    data.coded.row(i) << i % 3 - 1, i / 3 - 1;
    data.y[i] = std::cos(1.0 + i);
    data.block.push_back(0);
  }
  return data;
}

}  // namespace

TEST_CASE("a first-order fit has no stationary point and too few rows are told", "[classical]") {
  ClassicalData data;
  data.coded.resize(3, 2);
  data.coded << -1, -1, 1, -1, 0, 1;
  data.y = Eigen::Vector3d(1, 2, 3);
  data.block = {0, 0, 0};
  CHECK_FALSE(canonical_analysis(fit_classical(data, Order::first)).exists);
  const ClassicalFit second = fit_classical(data, Order::second);
  CHECK_FALSE(second.fit.full_rank);
  CHECK(second.fit.residual_df == 0);
  CHECK_FALSE(canonical_analysis(second).exists);
}

TEST_CASE("a response that does not vary gives zeros, not noise", "[classical]") {
  ClassicalData data = nine_points();
  data.y.setConstant(3.3);
  const ClassicalFit fit = fit_classical(data, Order::second);
  CHECK(fit.fit.r_squared == 0);
  CHECK(fit.fit.f_statistic == 0);
  for (const AnovaRow& row : fit.anova) CHECK(row.p == 1);
  CHECK(ridge_point(fit, 1).coded.allFinite());
}

TEST_CASE("a factor that doubles another is named, and takes no degree of freedom", "[classical]") {
  ClassicalData data = nine_points();
  data.coded.col(1) = 2 * data.coded.col(0);
  const ClassicalFit fit = fit_classical(data, Order::first);
  CHECK_FALSE(fit.fit.full_rank);
  CHECK(fit.fit.dependent_columns.size() == 1);
  const auto row = std::find_if(fit.anova.begin(), fit.anova.end(),
                                [](const AnovaRow& one) { return one.term == "first order"; });
  REQUIRE(row != fit.anova.end());
  CHECK(row->df == 1);
}

// An exhaustive search over the circle stands for the maximum.
TEST_CASE("no point of the sphere is higher than the ridge point", "[classical]") {
  const Eigen::Vector2d slopes[] = {{0.4, -0.3}, {0, 1}, {1, 0}, {0, 0}};
  Eigen::Matrix2d curvature;
  curvature << 1, 0, 0, -2;
  for (const Eigen::Matrix2d& b : {curvature, Eigen::Matrix2d(-curvature), Eigen::Matrix2d(0 * curvature)}) {
    for (const Eigen::Vector2d& slope : slopes) {
      const ClassicalFit fit = surface_of(slope, b);
      for (const double radius : {0.1, 1.0, 3.0}) {
        const RidgePoint point = ridge_point(fit, radius);
        INFO(slope.transpose() << " | " << b.diagonal().transpose() << " | " << radius);
        CHECK_THAT(point.coded.norm(), WithinAbs(radius, 1e-9 * radius));
        double best = -1e300;
        for (int i = 0; i < 20000; ++i) {
          const double angle = 2 * 3.14159265358979 * i / 20000;
          const Eigen::Vector2d place(radius * std::cos(angle), radius * std::sin(angle));
          best = std::max(best, slope.dot(place) + place.dot(b * place));
        }
        CHECK(point.predicted >= best - 1e-9);
      }
    }
  }
}

TEST_CASE("weight 2 is the same as two equal rows, up to degrees of freedom", "[classical]") {
  ClassicalData once = nine_points();
  once.weights = Eigen::VectorXd::Ones(9);
  once.weights[4] = 2;
  ClassicalData twice = nine_points();
  twice.coded.conservativeResize(10, 2);
  twice.coded.row(9) = twice.coded.row(4);
  twice.y.conservativeResize(10);
  twice.y[9] = twice.y[4];
  twice.block.push_back(0);
  const ClassicalFit a = fit_classical(once, Order::second);
  const ClassicalFit b = fit_classical(twice, Order::second);
  CHECK((a.fit.coefficients - b.fit.coefficients).cwiseAbs().maxCoeff() < 1e-12);
  CHECK_THAT(a.fit.residual_ss, WithinAbs(b.fit.residual_ss, 1e-12));
  CHECK_THAT(a.fit.total_ss, WithinAbs(b.fit.total_ss, 1e-12));
  CHECK_THAT(a.fit.residual_df + 1, WithinAbs(b.fit.residual_df, 1e-12));
}

TEST_CASE("row order does not matter", "[classical]") {
  const ClassicalData data = nine_points();
  ClassicalData turned = data;
  turned.coded = data.coded.colwise().reverse();
  turned.y = data.y.reverse();
  const ClassicalFit a = fit_classical(data, Order::second);
  const ClassicalFit b = fit_classical(turned, Order::second);
  CHECK((a.fit.coefficients - b.fit.coefficients).cwiseAbs().maxCoeff() < 1e-13);
  CHECK_THAT(a.fit.press, WithinAbs(b.fit.press, 1e-11));
}
