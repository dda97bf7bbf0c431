#include "numerics/distributions.hpp"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>

#include "errors/bug.hpp"

namespace frostcal::numerics {

namespace {

namespace bm = boost::math;

void check_df(double df) {
  FROSTCAL_ASSERT(std::isfinite(df) && df > 0, "degrees of freedom must be positive");
}
void check_p(double p) {
  FROSTCAL_ASSERT(p > 0 && p < 1, "a quantile needs a probability between 0 and 1");
}

}  // namespace

double t_cdf(double t, double df) {
  check_df(df);
  if (std::isinf(t)) return t > 0 ? 1 : 0;
  return bm::cdf(bm::students_t(df), t);
}

double t_upper_tail(double t, double df) {
  check_df(df);
  if (std::isinf(t)) return t > 0 ? 0 : 1;
  return bm::cdf(bm::complement(bm::students_t(df), t));
}

double t_quantile(double p, double df) {
  check_df(df);
  check_p(p);
  return bm::quantile(bm::students_t(df), p);
}

double f_cdf(double f, double df1, double df2) {
  check_df(df1);
  check_df(df2);
  FROSTCAL_ASSERT(f >= 0, "F must not be negative");
  return std::isinf(f) ? 1 : bm::cdf(bm::fisher_f(df1, df2), f);
}

double f_upper_tail(double f, double df1, double df2) {
  check_df(df1);
  check_df(df2);
  FROSTCAL_ASSERT(f >= 0, "F must not be negative");
  return std::isinf(f) ? 0 : bm::cdf(bm::complement(bm::fisher_f(df1, df2), f));
}

double f_quantile(double p, double df1, double df2) {
  check_df(df1);
  check_df(df2);
  check_p(p);
  return bm::quantile(bm::fisher_f(df1, df2), p);
}

double chi_square_cdf(double x, double df) {
  check_df(df);
  FROSTCAL_ASSERT(x >= 0, "chi-square must not be negative");
  return std::isinf(x) ? 1 : bm::cdf(bm::chi_squared(df), x);
}

double chi_square_upper_tail(double x, double df) {
  check_df(df);
  FROSTCAL_ASSERT(x >= 0, "chi-square must not be negative");
  return std::isinf(x) ? 0 : bm::cdf(bm::complement(bm::chi_squared(df), x));
}

double chi_square_quantile(double p, double df) {
  check_df(df);
  check_p(p);
  return bm::quantile(bm::chi_squared(df), p);
}

}  // namespace frostcal::numerics
