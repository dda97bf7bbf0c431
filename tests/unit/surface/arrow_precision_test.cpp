// The arrow against dense linear algebra, and nested groups against the same model with the groups as
// columns.
#include "surface/arrow_precision.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/random_engine.hpp"
#include "surface/expectation_propagation.hpp"

namespace {

using namespace frostcal::surface;
using Catch::Matchers::WithinAbs;
using frostcal::numerics::RandomEngine;

/// 40 rows on 3 bottles with 2 burns each and one row on a bottle of its own without a burn effect.
CumulativeLinkModel nested_model(RandomEngine& random) {
  CumulativeLinkModel m;
  m.noise = 0.5;
  m.design = Eigen::MatrixXd::NullaryExpr(41, 4, [&] { return random.normal(); });
  m.offset = Eigen::VectorXd::NullaryExpr(41, [&] { return 1.5 + 0.3 * random.normal(); });
  m.groups.outer_of_inner = {0, 0, 1, 1, 2, 2, 3};
  m.groups.outer_scale = Eigen::Vector4d(0.3, 0.3, 0.6, 0.3);
  m.groups.inner_scale.resize(7);
  m.groups.inner_scale << 0.15, 0.15, 0.15, 0.9, 0.15, 0.15, 0;
  for (int i = 0; i < 41; ++i) m.groups.inner_of_row.push_back(i < 40 ? (i * 5) % 6 : 6);
  m.weight = Eigen::VectorXd::Ones(41);
  m.weight(3) = 2.5;
  m.cutpoint_offset = Eigen::VectorXd::LinSpaced(5, 0.5, 4.5);
  m.cutpoint_map = Eigen::MatrixXd::Zero(5, 4);
  for (int j = 1; j < 5; ++j) m.cutpoint_map.row(j).head(j).setConstant(0.25);
  m.precision = Eigen::VectorXd::Ones(m.parameters());
  for (Eigen::Index i = 0; i < 41; ++i) {
    const double latent = m.offset(i) + m.design(i, 0) + 0.5 * random.normal();
    m.category.push_back(std::clamp(static_cast<int>(std::lround(latent)), 0, 5));
  }
  return m;
}

/// The same with each group's indicator as a column of the design, so that nothing is left to eliminate.
CumulativeLinkModel with_columns(const CumulativeLinkModel& m) {
  CumulativeLinkModel flat = m;
  flat.groups = {};
  const Eigen::Index r = m.design.cols();
  flat.design.conservativeResize(Eigen::NoChange, r + m.groups.outer() + m.groups.inner());
  flat.design.rightCols(flat.design.cols() - r).setZero();
  for (Eigen::Index i = 0; i < m.design.rows(); ++i) {
    const int k = m.groups.inner_of_row[i];
    const int b = m.groups.outer_of_inner[k];
    flat.design(i, r + b) = m.groups.outer_scale(b);
    flat.design(i, r + m.groups.outer() + k) = m.groups.inner_scale(k);
  }
  return flat;
}

double distance(const Eigen::MatrixXd& a, const Eigen::MatrixXd& b) {
  return (a - b).cwiseAbs().maxCoeff();
}

}  // namespace

TEST_CASE("the arrow's factor agrees with a dense one", "[surface][arrow]") {
  RandomEngine random(11);
  const CumulativeLinkModel m = nested_model(random);
  const LogPosterior at = log_posterior(m, Eigen::VectorXd::Zero(m.parameters()));
  const ArrowFactor factor(at.negative_hessian, m.groups.outer_of_inner);
  REQUIRE(factor.positive());
  const Eigen::MatrixXd dense = at.negative_hessian.dense(m.groups.outer_of_inner);
  const Eigen::LLT<Eigen::MatrixXd> llt(dense);
  const Eigen::MatrixXd root = llt.matrixL();
  CHECK_THAT(factor.log_root_determinant(), WithinAbs(root.diagonal().array().log().sum(), 1e-10));
  CHECK_THAT(distance(factor.solve(at.gradient), llt.solve(at.gradient)), WithinAbs(0, 1e-10));
  CHECK_THAT(distance(factor.covariance(), dense.inverse()), WithinAbs(0, 1e-10));
  const LogPosterior flat = log_posterior(with_columns(m), Eigen::VectorXd::Zero(m.parameters()));
  CHECK_THAT(distance(flat.negative_hessian.dense({}), dense), WithinAbs(0, 1e-10));
  CHECK_THAT(distance(flat.gradient, at.gradient), WithinAbs(0, 1e-10));
}

TEST_CASE("a matrix that is not positive definite has no factor", "[surface][arrow]") {
  RandomEngine random(12);
  const CumulativeLinkModel m = nested_model(random);
  const ArrowPrecision good = log_posterior(m, Eigen::VectorXd::Zero(m.parameters())).negative_hessian;
  for (int part = 0; part < 3; ++part) {
    ArrowPrecision bad = good;
    if (part == 0) bad.inner(2) = -1;
    if (part == 1) bad.outer(1) = 0.01;
    if (part == 2) bad.core.diagonal().array() -= 1e3;
    CHECK_FALSE(ArrowFactor(bad, m.groups.outer_of_inner).positive());
  }
}

TEST_CASE("nested groups give what their columns give: mode, moments and evidence", "[surface][arrow]") {
  RandomEngine random(13);
  const CumulativeLinkModel nested = nested_model(random);
  const CumulativeLinkModel flat = with_columns(nested);
  const Eigen::VectorXd zero = Eigen::VectorXd::Zero(nested.parameters());
  const PosteriorMode mode = find_mode(nested, zero);
  const PosteriorMode flat_mode = find_mode(flat, zero);
  REQUIRE(mode.status == NewtonStatus::converged);
  CHECK_THAT(distance(mode.theta, flat_mode.theta), WithinAbs(0, 1e-9));
  CHECK_THAT(mode.log_evidence(), WithinAbs(flat_mode.log_evidence(), 1e-9));
  const MomentPosterior moments = propagate(nested, sites_at(nested, mode.theta));
  const MomentPosterior flat_moments = propagate(flat, sites_at(flat, flat_mode.theta));
  REQUIRE(moments.status == SweepStatus::converged);
  CHECK(moments.sweeps == flat_moments.sweeps);
  CHECK_THAT(distance(moments.mean, flat_moments.mean), WithinAbs(0, 1e-9));
  CHECK_THAT(distance(moments.factor.covariance(), flat_moments.factor.covariance()), WithinAbs(0, 1e-9));
  CHECK_THAT(moments.log_evidence, WithinAbs(flat_moments.log_evidence, 1e-9));
}
