#include "surface/link_function.hpp"

#include <cmath>
#include <limits>

#include "numerics/gauss_hermite.hpp"
#include "numerics/normal_tail.hpp"
#include "numerics/stable_log.hpp"

namespace frostcal::surface {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kFarTail = -20;  // where log Phi takes over from Phi

double log_cdf(Link link, double x) {
  return link == Link::probit ? numerics::log_normal_cdf(x) : -numerics::log1p_exp(-x);
}

double log_density(Link link, double x) {
  if (link == Link::probit) return numerics::log_normal_density(x);
  return -numerics::log1p_exp(-x) - numerics::log1p_exp(x);
}

/// Derivative of the log density.
double score(Link link, double x) {
  return link == Link::probit ? -x : -std::tanh(0.5 * x);
}

/// log[F(a) - F(b)] and the ratios f(a)/D, f(b)/D, for an interval whose centre is not right of 0.
void left_interval(Link link, double a, double b, double& log_d, double& ratio_a, double& ratio_b) {
  if (link == Link::probit && a > kFarTail) {
    const double d = numerics::normal_cdf(a) - (b == -kInfinity ? 0.0 : numerics::normal_cdf(b));
    if (d > 0) {
      log_d = std::log(d);
      ratio_a = a == kInfinity ? 0 : numerics::normal_density(a) / d;
      ratio_b = b == -kInfinity ? 0 : numerics::normal_density(b) / d;
      return;
    }
  }
  const double log_a = a == kInfinity ? 0 : log_cdf(link, a);
  log_d = b == -kInfinity ? log_a : log_a + numerics::log1m_exp(log_cdf(link, b) - log_a);
  ratio_a = a == kInfinity ? 0 : std::exp(log_density(link, a) - log_d);
  ratio_b = b == -kInfinity ? 0 : std::exp(log_density(link, b) - log_d);
}

}  // namespace

IntervalTerm interval_term(Link link, double a, double b) {
  IntervalTerm term;
  if (!(b < a)) {
    term.log_probability = -kInfinity;
    return term;
  }
  double ratio_a = 0;
  double ratio_b = 0;
  if (a == kInfinity || (b != -kInfinity && a + b > 0)) {
    left_interval(link, -b, -a, term.log_probability, ratio_b, ratio_a);
  } else {
    left_interval(link, a, b, term.log_probability, ratio_a, ratio_b);
  }
  if (a != kInfinity) {
    term.da = ratio_a;
    term.daa = score(link, a) * ratio_a - ratio_a * ratio_a;
  }
  if (b != -kInfinity) {
    term.db = -ratio_b;
    term.dbb = -score(link, b) * ratio_b - ratio_b * ratio_b;
  }
  term.dab = ratio_a * ratio_b;
  return term;
}

double link_cdf(Link link, double x) {
  return link == Link::probit ? numerics::normal_cdf(x) : std::exp(-numerics::log1p_exp(-x));
}

double averaged_link_cdf(Link link, double mean, double variance, double scale) {
  if (link == Link::probit) return numerics::normal_cdf(mean / std::sqrt(scale * scale + variance));
  static const numerics::NormalQuadrature kRule = numerics::normal_quadrature(20);
  const double sd = std::sqrt(variance);
  double sum = 0;
  for (int i = 0; i < kRule.nodes.size(); ++i) {
    sum += kRule.weights(i) * link_cdf(link, (mean + sd * kRule.nodes(i)) / scale);
  }
  return sum;
}

}  // namespace frostcal::surface
