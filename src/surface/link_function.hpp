// Probability of an interval under the link's distribution, with derivatives, safe far out in the tails.
#pragma once

namespace frostcal::surface {

enum class Link { probit, logit };

/// l(a, b) = log[F(a) - F(b)], b < a, and its partial derivatives. a may be +infinity and b -infinity;
/// derivatives in an infinite argument are 0. The matrix of -l's second derivatives is positive semidefinite
/// (J. W. Pratt, J. Amer. Statist. Assoc. 76 (1981) 103-106; J. Burridge, J. R. Statist. Soc. B 43 (1981)
/// 41-45).
struct IntervalTerm {
  double log_probability = 0;
  double da = 0;
  double db = 0;
  double daa = 0;
  double dbb = 0;
  double dab = 0;
};

/// Evaluated on the side where both tails are small; logarithms replace differences beyond 20 units.
/// log_probability is -infinity when b >= a.
IntervalTerm interval_term(Link link, double a, double b);

/// F(x), standard normal or logistic.
double link_cdf(Link link, double x);

/// E[F((mean + s Z) / scale)], Z standard normal, s^2 = variance: exact for the probit, 20-point
/// Gauss-Hermite for the logit.
double averaged_link_cdf(Link link, double mean, double variance, double scale);

}  // namespace frostcal::surface
