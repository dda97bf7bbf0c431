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
#include "unit/surface/nested_model.hpp"

namespace {

using namespace frostcal::surface;
using Catch::Matchers::WithinAbs;
using frostcal::numerics::RandomEngine;

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
  const Eigen::MatrixXd inverse = dense.inverse();
  const Eigen::Index core = m.core();
  CHECK_THAT(distance(factor.core_covariance(), inverse.topLeftCorner(core, core)), WithinAbs(0, 1e-10));
  CHECK_THAT(distance(factor.variances(), inverse.diagonal()), WithinAbs(0, 1e-10));
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
  CHECK_THAT(distance(moments.factor.variances(), flat_moments.factor.variances()), WithinAbs(0, 1e-9));
  const Eigen::Index core = nested.core();
  CHECK_THAT(distance(moments.factor.core_covariance(),
                      flat_moments.factor.core_covariance().topLeftCorner(core, core)),
             WithinAbs(0, 1e-9));
  CHECK_THAT(moments.log_evidence, WithinAbs(flat_moments.log_evidence, 1e-9));
}
