#include "numerics/stable_log.hpp"

#include <cmath>
#include <limits>

namespace frostcal::numerics {

double log1p_exp(double x) {
  return x > 0 ? x + std::log1p(std::exp(-x)) : std::log1p(std::exp(x));
}

double log1m_exp(double x) {
  constexpr double kLog2 = 0.6931471805599453;
  return x > -kLog2 ? std::log(-std::expm1(x)) : std::log1p(-std::exp(x));
}

double log_sum_exp(const Eigen::VectorXd& x) {
  if (x.size() == 0) return -std::numeric_limits<double>::infinity();
  const double top = x.maxCoeff();
  if (!std::isfinite(top)) return top;
  return top + std::log((x.array() - top).exp().sum());
}

}  // namespace frostcal::numerics
