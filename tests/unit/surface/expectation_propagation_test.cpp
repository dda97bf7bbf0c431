// Expectation propagation against brute-force integration: everything here is computed twice, by different
// routes.
#include "surface/expectation_propagation.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "numerics/random_engine.hpp"

namespace {

using namespace frostcal::surface;
using Catch::Matchers::WithinAbs;

CumulativeLinkModel model_of(const Eigen::MatrixXd& design, const std::vector<int>& category, double noise,
                             int gaps) {
  CumulativeLinkModel m;
  m.noise = noise;
  m.design = design;
  m.category = category;
  m.cutpoint_offset = Eigen::VectorXd::LinSpaced(gaps + 1, -0.5, -0.5 + gaps);
  m.cutpoint_map = Eigen::MatrixXd::Zero(gaps + 1, gaps);
  for (int j = 1; j <= gaps; ++j) m.cutpoint_map.row(j).head(j).setConstant(0.25);
  m.precision = Eigen::VectorXd::Ones(m.parameters());
  return m;
}

struct Moments {
  double log_integral = 0;
  Eigen::VectorXd mean;
  Eigen::VectorXd sd;
};

/// Midpoint rule over the box -6..6 of all parameters (at most three).
Moments integrate(const CumulativeLinkModel& m, int steps) {
  const int d = static_cast<int>(m.parameters());
  const double h = 12.0 / steps;
  long total = 1;
  for (int k = 0; k < d; ++k) total *= steps;
  double mass = 0;
  Eigen::VectorXd first = Eigen::VectorXd::Zero(d);
  Eigen::VectorXd second = Eigen::VectorXd::Zero(d);
  for (long i = 0; i < total; ++i) {
    Eigen::VectorXd theta(d);
    long rest = i;
    for (int k = 0; k < d; ++k, rest /= steps) theta(k) = -6 + h * (static_cast<double>(rest % steps) + 0.5);
    const double value = std::exp(log_posterior_value(m, theta).value);
    mass += value;
    first += value * theta;
    second += value * theta.cwiseAbs2();
  }
  Moments out;
  out.mean = first / mass;
  out.sd = (second / mass - out.mean.cwiseAbs2()).cwiseSqrt();
  out.log_integral = std::log(mass) + d * (std::log(h) - 0.5 * std::log(2 * std::acos(-1.0)));
  return out;
}

MomentPosterior from_mode(const CumulativeLinkModel& m) {
  SweepOptions fine;
  fine.tolerance = 1e-8;
  fine.max_sweeps = 500;
  const PosteriorMode mode = find_mode(m, Eigen::VectorXd::Zero(m.parameters()));
  return propagate(m, sites_at(m, mode.theta), fine);
}

}  // namespace

TEST_CASE("one grade is exact, whichever it is", "[surface][ep]") {
  for (const int grade : {0, 1, 2, 3}) {
    INFO("grade " << grade);
    const CumulativeLinkModel m = model_of(Eigen::MatrixXd::Constant(1, 1, 1.7), {grade}, 0.6, 2);
    const MomentPosterior ep = from_mode(m);
    REQUIRE(ep.status == SweepStatus::converged);
    const Moments exact = integrate(m, 150);  // without the 6e-5 of the prior where cutpoints cross
    const Eigen::VectorXd sd = ep.factor.variances().cwiseSqrt();
    for (int k = 0; k < 3; ++k) {
      CHECK_THAT(ep.mean(k), WithinAbs(exact.mean(k), 6e-4));
      CHECK_THAT(sd(k), WithinAbs(exact.sd(k), 6e-4));
    }
    CHECK_THAT(ep.log_evidence, WithinAbs(exact.log_integral, 6e-4));
  }
}

// log_posterior_value, which integrate() sums, knows a range by its two ends; that this is the sum of its
// categories' probabilities is checked first, one row at a time.
TEST_CASE("a range of grades is as probable as its grades together", "[surface][ep]") {
  Eigen::VectorXd theta(3);
  theta << 0.3, -0.8, 0.4;
  for (int lowest = 0; lowest < 4; ++lowest) {
    for (int highest = lowest; highest < 4; ++highest) {
      double sum = 0;
      for (int grade = lowest; grade <= highest; ++grade) {
        const CumulativeLinkModel one = model_of(Eigen::MatrixXd::Constant(1, 1, 1.7), {grade}, 0.6, 2);
        sum += std::exp(log_posterior_value(one, theta).log_likelihood);
      }
      CumulativeLinkModel range = model_of(Eigen::MatrixXd::Constant(1, 1, 1.7), {highest}, 0.6, 2);
      range.lowest = {lowest};
      INFO(lowest << " to " << highest);
      CHECK_THAT(std::exp(log_posterior_value(range, theta).log_likelihood), WithinAbs(sum, 1e-14));
    }
  }
}

TEST_CASE("a range of grades beside plain ones gives the integrated posterior", "[surface][ep]") {
  Eigen::MatrixXd design(3, 1);
  design << 1.7, 0.6, 1.2;
  for (const auto& [lowest, highest] : {std::pair(2, 3), std::pair(0, 1), std::pair(1, 2), std::pair(0, 2)}) {
    INFO(lowest << " to " << highest);
    CumulativeLinkModel m = model_of(design, {highest, 1, 2}, 0.6, 2);
    m.lowest = {lowest, 1, 2};
    const MomentPosterior ep = from_mode(m);
    REQUIRE(ep.status == SweepStatus::converged);
    const Moments exact = integrate(m, 150);
    const Eigen::VectorXd sd = ep.factor.variances().cwiseSqrt();
    for (int k = 0; k < 3; ++k) {
      CHECK_THAT(ep.mean(k), WithinAbs(exact.mean(k), 0.02 * exact.sd(k)));
      CHECK_THAT(sd(k), WithinAbs(exact.sd(k), 0.03 * exact.sd(k)));
    }
    CHECK_THAT(ep.log_evidence, WithinAbs(exact.log_integral, 0.01));
  }
}

TEST_CASE("few one-sided grades: the mean is right where the mode is far off", "[surface][ep]") {
  Eigen::MatrixXd design(5, 2);
  design << 1, -1, 1, -0.4, 1, 0.1, 1, 0.7, 1, 1.2;
  design *= 2;
  const CumulativeLinkModel m = model_of(design, {2, 2, 2, 2, 1}, 0.5, 1);
  const Moments exact = integrate(m, 160);
  const MomentPosterior ep = from_mode(m);
  const PosteriorMode mode = find_mode(m, Eigen::VectorXd::Zero(m.parameters()));
  REQUIRE(ep.status == SweepStatus::converged);
  const Eigen::VectorXd sd = ep.factor.variances().cwiseSqrt();
  const Eigen::VectorXd laplace_sd = mode.factor.variances().cwiseSqrt();
  for (int k = 0; k < 3; ++k) {
    INFO("parameter " << k << ": exact " << exact.mean(k) << " +- " << exact.sd(k) << ", ep " << ep.mean(k)
                      << " +- " << sd(k) << ", laplace " << mode.theta(k) << " +- " << laplace_sd(k));
    CHECK_THAT(ep.mean(k), WithinAbs(exact.mean(k), 0.02 * exact.sd(k)));
    CHECK_THAT(sd(k), WithinAbs(exact.sd(k), 0.1 * exact.sd(k)));
  }
  CHECK(std::abs(mode.theta(1) - exact.mean(1)) > 0.5 * exact.sd(1));
  CHECK_THAT(ep.log_evidence, WithinAbs(exact.log_integral, 0.05));
}

TEST_CASE("a weight is as many equal rows, and the order of rows says nothing", "[surface][ep]") {
  Eigen::MatrixXd design(3, 2);
  design << 1, -0.5, 1, 0.3, 1, 1.1;
  CumulativeLinkModel weighted = model_of(design, {0, 1, 3}, 0.7, 2);
  weighted.weight = Eigen::Vector3d(1, 3, 2);
  Eigen::MatrixXd repeated(6, 2);
  repeated << design.row(2), design.row(1), design.row(1), design.row(0), design.row(1), design.row(2);
  const MomentPosterior a = from_mode(weighted);
  const MomentPosterior b = from_mode(model_of(repeated, {3, 1, 1, 0, 1, 3}, 0.7, 2));
  REQUIRE(a.status == SweepStatus::converged);
  REQUIRE(b.status == SweepStatus::converged);
  CHECK_THAT((a.mean - b.mean).norm(), WithinAbs(0, 1e-6));
  CHECK_THAT((a.factor.core_covariance() - b.factor.core_covariance()).norm(), WithinAbs(0, 1e-6));
  CHECK_THAT(a.log_evidence, WithinAbs(b.log_evidence, 1e-6));
}

TEST_CASE("any start ends at the same place", "[surface][ep]") {
  frostcal::numerics::RandomEngine random(4);
  Eigen::MatrixXd design(30, 8);
  std::vector<int> category;
  for (Eigen::Index i = 0; i < 30; ++i) {
    for (Eigen::Index j = 0; j < 8; ++j) design(i, j) = random.normal();
    category.push_back(
        std::min(3, std::max(0, static_cast<int>(std::lround(1 + design(i, 0) + random.normal())))));
  }
  const CumulativeLinkModel m = model_of(design, category, 0.4, 2);
  SweepOptions fine;
  fine.tolerance = 1e-8;
  fine.max_sweeps = 500;
  const MomentPosterior a = from_mode(m);
  const MomentPosterior b = propagate(m, std::vector<GradeSite>(30), fine);
  REQUIRE(a.status == SweepStatus::converged);
  REQUIRE(b.status == SweepStatus::converged);
  CHECK_THAT((a.mean - b.mean).norm(), WithinAbs(0, 1e-5));
  CHECK_THAT(a.log_evidence, WithinAbs(b.log_evidence, 1e-5));
}

TEST_CASE("a hopeless setting is given up, a good one is not", "[surface][ep]") {
  const CumulativeLinkModel m = model_of(Eigen::MatrixXd::Ones(6, 1), {0, 1, 3, 1, 0, 2}, 0.5, 2);
  const MomentPosterior whole = from_mode(m);
  const std::vector<GradeSite> start = sites_at(m, Eigen::VectorXd::Zero(m.parameters()));
  SweepOptions options;
  options.tolerance = 1e-10;
  options.evidence_floor = whole.log_evidence + 5;
  CHECK(propagate(m, start, options).status == SweepStatus::hopeless);
  options.evidence_floor = whole.log_evidence - 5;
  CHECK(propagate(m, start, options).status == SweepStatus::converged);
}

TEST_CASE("a million repeats of one swatch", "[surface][ep]") {
  CumulativeLinkModel m = model_of(Eigen::MatrixXd::Ones(2, 1), {1, 2}, 0.5, 2);
  m.weight = Eigen::Vector2d(1e6, 2e6);
  const MomentPosterior ep = from_mode(m);
  REQUIRE(ep.status == SweepStatus::converged);
  const PosteriorMode mode = find_mode(m, Eigen::VectorXd::Zero(m.parameters()));
  CHECK_THAT(ep.mean(2), WithinAbs(mode.theta(2), 0.5 * std::sqrt(mode.factor.variances()(2))));
}
