#include "surface/link_function.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "numerics/random_engine.hpp"
#include "surface/cumulative_link.hpp"

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using namespace frostcal::surface;

namespace {
constexpr double kInfinity = std::numeric_limits<double>::infinity();
}

TEST_CASE("interval terms agree with differences, left, right, across and far out", "[surface]") {
  const double h = 1e-4;
  for (const Link link : {Link::probit, Link::logit}) {
    for (const auto& [a, b] : {std::pair{0.3, -0.8},
                               {2.0, 1.1},
                               {-1.0, -2.5},
                               {9.0, 7.5},
                               {-8.0, -9.0},
                               {25.0, 23.0},
                               {-30.0, -31.0},
                               {0.5, -kInfinity},
                               {kInfinity, 0.7},
                               {-26.0, -kInfinity},
                               {kInfinity, 26.0}}) {
      INFO("a " << a << " b " << b);
      const IntervalTerm t = interval_term(link, a, b);
      const auto l = [&](double x, double y) { return interval_term(link, x, y).log_probability; };
      const double scale = 1 + std::fabs(t.da) + std::fabs(t.db);
      CHECK_THAT(t.da, WithinAbs((l(a + h, b) - l(a - h, b)) / (2 * h), 1e-5 * scale));
      CHECK_THAT(t.db, WithinAbs((l(a, b + h) - l(a, b - h)) / (2 * h), 1e-5 * scale));
      const auto da = [&](double x, double y) { return interval_term(link, x, y).da; };
      const auto db = [&](double x, double y) { return interval_term(link, x, y).db; };
      CHECK_THAT(t.daa, WithinAbs((da(a + h, b) - da(a - h, b)) / (2 * h), 1e-5 * scale * scale));
      CHECK_THAT(t.dbb, WithinAbs((db(a, b + h) - db(a, b - h)) / (2 * h), 1e-5 * scale * scale));
      CHECK_THAT(t.dab, WithinAbs((da(a, b + h) - da(a, b - h)) / (2 * h), 1e-5 * scale * scale));
    }
  }
}

TEST_CASE("interval terms stay finite hundreds of units out", "[surface]") {
  for (const Link link : {Link::probit, Link::logit}) {
    for (const double centre : {-900.0, -300.0, 300.0, 900.0}) {
      const IntervalTerm t = interval_term(link, centre + 1, centre - 1);
      CHECK(std::isfinite(t.log_probability));
      CHECK(std::isfinite(t.daa));
      CHECK(std::isfinite(t.dbb));
      CHECK(t.daa + 2 * t.dab + t.dbb < 1e-6);
    }
    CHECK(interval_term(link, 1, 1).log_probability == -kInfinity);
  }
}

TEST_CASE("the average of the link over a normal mean", "[surface]") {
  // probit: exact; logit: against a sum over a fine grid.
  CHECK_THAT(averaged_link_cdf(Link::probit, 0.7, 1.5, 0.5),
             WithinRel(link_cdf(Link::probit, 0.7 / std::sqrt(1.75)), 1e-14));
  double sum = 0;
  double weight = 0;
  for (double z = -8; z <= 8; z += 0.01) {
    sum += std::exp(-0.5 * z * z) * link_cdf(Link::logit, (0.7 + std::sqrt(1.5) * z) / 0.8);
    weight += std::exp(-0.5 * z * z);
  }
  CHECK_THAT(averaged_link_cdf(Link::logit, 0.7, 1.5, 0.8), WithinAbs(sum / weight, 1e-5));
}

TEST_CASE("gradient and Hessian of the log posterior agree with differences in every category", "[surface]") {
  frostcal::numerics::RandomEngine random(3);
  for (const Link link : {Link::probit, Link::logit}) {
    for (int category = 0; category < 5; ++category) {
      CumulativeLinkModel model;
      model.link = link;
      model.noise = 0.6;
      model.design = Eigen::MatrixXd::NullaryExpr(3, 2, [&] { return random.normal(); });
      model.offset = Eigen::Vector3d(0.2, -0.4, 1.0);
      model.category = {category, category, (category + 1) % 5};
      model.weight = Eigen::Vector3d(1, 2.5, 0.5);
      model.cutpoint_offset = Eigen::Vector4d(-1, 0, 1, 2);
      model.cutpoint_map = Eigen::MatrixXd::Identity(4, 4);
      model.groups = {{0, 1, 1}, {0, 0}, Eigen::Vector2d(0.9, 0.4), Eigen::VectorXd::Constant(1, 0.7)};
      const int size = 9;
      model.precision = Eigen::VectorXd::Constant(size, 0.7);
      const Eigen::VectorXd theta = Eigen::VectorXd::NullaryExpr(size, [&] { return 0.2 * random.normal(); });
      const LogPosterior at = log_posterior(model, theta);
      CHECK_THAT(at.value, WithinRel(log_posterior_value(model, theta).value, 1e-14));
      const double h = 1e-5;
      const Eigen::MatrixXd hessian = at.negative_hessian.dense(model.groups.outer_of_inner);
      for (int i = 0; i < size; ++i) {
        const Eigen::VectorXd step = h * Eigen::VectorXd::Unit(size, i);
        const LogPosterior up = log_posterior(model, theta + step);
        const LogPosterior down = log_posterior(model, theta - step);
        CHECK_THAT(at.gradient(i), WithinAbs((up.value - down.value) / (2 * h), 1e-6));
        const Eigen::VectorXd difference = (up.gradient - down.gradient) / (2 * h);
        CHECK_THAT((hessian.col(i) + difference).cwiseAbs().maxCoeff(), WithinAbs(0, 1e-5));
      }
    }
  }
}

TEST_CASE("crossed cutpoints have no probability", "[surface]") {
  CumulativeLinkModel model = free_cutpoint_model(Link::probit, Eigen::MatrixXd::Ones(2, 1), {0, 2}, 3);
  CHECK(log_posterior_value(model, Eigen::Vector3d(1, 0, 0)).value == -kInfinity);
}
