#include "numerics/distributions.hpp"

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
}  // namespace

double t_upper_tail(double t, double df) {
  check_df(df);
  if (std::isinf(t)) return t > 0 ? 0 : 1;
  return bm::cdf(bm::complement(bm::students_t(df), t));
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

}  // namespace frostcal::numerics
