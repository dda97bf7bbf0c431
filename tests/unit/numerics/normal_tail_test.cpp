#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/normal_tail.hpp"
#include "numerics/random_engine.hpp"
#include "numerics/stable_log.hpp"

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using namespace frostcal::numerics;

TEST_CASE("log Phi joins its two formulas and reaches far out", "[numerics]") {
  CHECK_THAT(log_normal_cdf(0), WithinRel(std::log(0.5), 1e-15));
  CHECK_THAT(log_normal_cdf(-12.0 - 1e-9), WithinRel(log_normal_cdf(-12.0 + 1e-9), 1e-9));
  // log Phi(-10) = -53.23128515051247 and log Phi(-30) = -454.3212439955823 (mpmath, 30 digits, computed)
  CHECK_THAT(log_normal_cdf(-10), WithinRel(-53.231285151, 1e-9));
  CHECK_THAT(log_normal_cdf(-30), WithinRel(-454.32124395, 1e-9));
  CHECK(std::isfinite(log_normal_cdf(-1e6)));
  CHECK_THAT(log_normal_cdf(9), WithinRel(-normal_cdf(-9), 1e-12));
}

TEST_CASE("the quantile inverts the distribution function", "[numerics]") {
  for (const double p : {1e-300, 1e-20, 1e-5, 0.02, 0.074, 0.3, 0.5, 0.77, 0.93, 0.999}) {
    CHECK_THAT(normal_cdf(normal_quantile(p)), WithinRel(p, 1e-12));
  }
  // Check values of Wichura 1988, section 3 (first two), and their like at 1e-20; from memory
  CHECK_THAT(normal_quantile(0.25), WithinRel(-0.6744897501960817, 1e-15));
  CHECK_THAT(normal_quantile(0.001), WithinRel(-3.090232306167814, 1e-15));
  CHECK_THAT(normal_quantile(1e-20), WithinRel(-9.262340089798408, 1e-15));
}

TEST_CASE("logs of sums and differences keep their digits", "[numerics]") {
  CHECK_THAT(log1p_exp(-50), WithinRel(std::exp(-50.0), 1e-12));
  CHECK_THAT(log1p_exp(800), WithinRel(800.0, 1e-15));
  CHECK_THAT(log1m_exp(-1e-12), WithinRel(std::log(1e-12), 1e-9));
  CHECK_THAT(log1m_exp(-40), WithinRel(-std::exp(-40.0), 1e-12));
  CHECK_THAT(log_sum_exp(Eigen::Vector2d(-1000, -1000)), WithinRel(-1000 + std::log(2.0), 1e-15));
}

TEST_CASE("equal seeds give equal numbers, with normal moments", "[numerics]") {
  RandomEngine a(42);
  RandomEngine b(42);
  CHECK(a.next() == b.next());
  double sum = 0;
  double square = 0;
  const int n = 20000;
  for (int i = 0; i < n; ++i) {
    const double z = a.normal();
    sum += z;
    square += z * z;
  }
  CHECK_THAT(sum / n, WithinAbs(0, 4 / std::sqrt(n)));
  CHECK_THAT(square / n, WithinAbs(1, 4 * std::sqrt(2.0 / n)));
  for (int i = 0; i < 1000; ++i) CHECK(a.below(7) < 7);
}
