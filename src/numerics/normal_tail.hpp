// The standard normal distribution, also far out in its tails.
#pragma once

namespace frostcal::numerics {

double normal_density(double x);
double log_normal_density(double x);
/// Phi(x), by erfc: full relative accuracy in the left tail until it underflows near x = -38.
double normal_cdf(double x);
/// log Phi(x). Below x = -12 by the continued fraction of the Mills ratio (Abramowitz and Stegun
/// 1964, 26.2.14).
double log_normal_cdf(double x);
/// The x with Phi(x) = p, 0 < p < 1; +-infinity at 1 and 0. Algorithm AS 241, PPND16 (M. J. Wichura, Appl.
/// Statist. 37 (1988) 477-484), about 1e-16 relative.
double normal_quantile(double p);

}  // namespace frostcal::numerics
