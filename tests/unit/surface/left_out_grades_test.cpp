// Leave-one-out predictions against fits that really leave the grade out.
#include "surface/left_out_grades.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/random_engine.hpp"
#include "surface/expectation_propagation.hpp"
#include "unit/surface/nested_model.hpp"

namespace {

using namespace frostcal::surface;
using Catch::Matchers::WithinAbs;

struct Fitted {
  Eigen::VectorXd mean;
  ArrowFactor factor;
  std::vector<GradeSite> sites;
};

/// Expectation propagation for the probit, Laplace's approximation for the logit.
Fitted fit(const CumulativeLinkModel& m) {
  const PosteriorMode mode = find_mode(m, Eigen::VectorXd::Zero(m.parameters()));
  REQUIRE(mode.status == NewtonStatus::converged);
  if (m.link == Link::logit) return {mode.theta, mode.factor, {}};
  MomentPosterior moments = propagate(m, sites_at(m, mode.theta));
  REQUIRE(moments.status == SweepStatus::converged);
  return {moments.mean, moments.factor, moments.sites};
}

/// One swatch less in this row.
CumulativeLinkModel without(const CumulativeLinkModel& m, Eigen::Index row) {
  CumulativeLinkModel less = m;
  if (m.weight(row) > 1) {
    less.weight(row) -= 1;
    return less;
  }
  const Eigen::Index after = m.design.rows() - row - 1;
  less.design.resize(m.design.rows() - 1, m.design.cols());
  less.design << m.design.topRows(row), m.design.bottomRows(after);
  less.offset.resize(less.design.rows());
  less.offset << m.offset.head(row), m.offset.tail(after);
  less.weight.resize(less.design.rows());
  less.weight << m.weight.head(row), m.weight.tail(after);
  less.category.erase(less.category.begin() + row);
  return less;
}

/// P(category <= j) at a row of a model without groups.
Eigen::RowVectorXd predicted(const CumulativeLinkModel& m, const Fitted& fitted,
                             const Eigen::RowVectorXd& design, double offset) {
  const Eigen::MatrixXd covariance = fitted.factor.core_covariance();
  const Eigen::VectorXd cut = m.cutpoints(fitted.mean);
  Eigen::RowVectorXd cdf(cut.size());
  for (Eigen::Index j = 0; j < cut.size(); ++j) {
    Eigen::RowVectorXd contrast(m.parameters());
    contrast << m.cutpoint_map.row(j), -design;
    const double eta = offset + design.dot(fitted.mean.tail(design.size()));
    cdf(j) =
        averaged_link_cdf(m.link, cut(j) - eta, contrast.dot(covariance * contrast.transpose()), m.noise);
  }
  return cdf;
}

}  // namespace

TEST_CASE("a grade is predicted as by a fit without it", "[surface][residuals]") {
  frostcal::numerics::RandomEngine random(14);
  CumulativeLinkModel m = with_columns(nested_model(random));
  for (const Link link : {Link::probit, Link::logit}) {
    m.link = link;
    const Fitted all = fit(m);
    const Eigen::MatrixXd quick = left_out_probabilities(m, all.mean, all.factor, all.sites);
    double total = 0;
    double worst = 0;
    for (Eigen::Index i = 0; i < m.design.rows(); ++i) {
      const CumulativeLinkModel less = without(m, i);
      const Eigen::RowVectorXd slow = predicted(less, fit(less), m.design.row(i), m.offset(i));
      total += (quick.row(i) - slow).cwiseAbs().sum();
      worst = std::max(worst, (quick.row(i) - slow).cwiseAbs().maxCoeff());
    }
    INFO("mean " << total / static_cast<double>(quick.size()) << ", worst " << worst);
    CHECK(total / static_cast<double>(quick.size()) < 0.001);
    CHECK(worst < 0.02);
  }
}

TEST_CASE("nested groups leave out what their columns leave out", "[surface][residuals]") {
  frostcal::numerics::RandomEngine random(15);
  const CumulativeLinkModel nested = nested_model(random);
  const CumulativeLinkModel flat = with_columns(nested);
  const Fitted a = fit(nested);
  const Fitted b = fit(flat);
  const Eigen::MatrixXd difference = left_out_probabilities(nested, a.mean, a.factor, a.sites) -
                                     left_out_probabilities(flat, b.mean, b.factor, b.sites);
  CHECK_THAT(difference.cwiseAbs().maxCoeff(), WithinAbs(0, 1e-8));
}

TEST_CASE("a mixture weighs its components by what they say without the grade", "[surface][residuals]") {
  CumulativeLinkModel rows;
  rows.category = {1, 0};
  rows.weight = Eigen::Vector2d(1, 3);  // leaving out one of three counts as one
  Eigen::MatrixXd first(2, 2), second(2, 2);
  first << 0.2, 0.6, 0.5, 0.9;   // P(0) = 0.2, P(1) = 0.4; P(0) = 0.5
  second << 0.1, 0.9, 0.1, 0.8;  // P(1) = 0.8; P(0) = 0.1
  const Eigen::MatrixXd mixed = mixed_left_out(rows, {first, second}, Eigen::Vector2d(0.3, 0.7));
  // By hand: weights 0.3 / 0.4 and 0.7 / 0.8 of the first row, 0.3 / 0.5 and 0.7 / 0.1 of the second.
  CHECK_THAT(mixed(0, 0), WithinAbs((0.75 * 0.2 + 0.875 * 0.1) / 1.625, 1e-12));
  CHECK_THAT(mixed(0, 1), WithinAbs((0.75 * 0.6 + 0.875 * 0.9) / 1.625, 1e-12));
  CHECK_THAT(mixed(1, 0), WithinAbs((0.6 * 0.5 + 7 * 0.1) / 7.6, 1e-12));
}
