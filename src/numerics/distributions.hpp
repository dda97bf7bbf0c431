// Tail probabilities and quantiles of the t, F and chi-square distributions (Boost.Math behind guarded
// arguments).
#pragma once

namespace frostcal::numerics {

/// Every function requires positive finite degrees of freedom (errors::Bug otherwise).

double t_cdf(double t, double df);
double t_upper_tail(double t, double df);
/// 0 < p < 1.
double t_quantile(double p, double df);

/// f >= 0, infinity included.
double f_cdf(double f, double df1, double df2);
double f_upper_tail(double f, double df1, double df2);
double f_quantile(double p, double df1, double df2);

double chi_square_cdf(double x, double df);
double chi_square_upper_tail(double x, double df);
double chi_square_quantile(double p, double df);

}  // namespace frostcal::numerics
