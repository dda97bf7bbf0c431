// Tail probabilities of the t and F distributions (Boost.Math behind guarded arguments).
#pragma once

namespace frostcal::numerics {

/// Every function requires positive finite degrees of freedom (errors::Bug otherwise).

double t_upper_tail(double t, double df);

/// f >= 0, infinity included.
double f_cdf(double f, double df1, double df2);
double f_upper_tail(double f, double df1, double df2);

}  // namespace frostcal::numerics
