#include "report/axis.hpp"

#include <cmath>

#include "errors/bug.hpp"

namespace frostcal::report {
namespace {

std::vector<double> multiples(double low, double high, const std::vector<double>& digits) {
  std::vector<double> values;
  const int last = static_cast<int>(std::floor(std::log10(high)));
  for (int exponent = static_cast<int>(std::floor(std::log10(low))); exponent <= last; ++exponent)
    for (const double digit : digits)
      if (const double value = digit * std::pow(10.0, exponent);
          value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9))
        values.push_back(value);
  return values;
}

}  // namespace

double along(double low, double high, double share) {
  return low * std::pow(high / low, share);
}

double Axis::at(double value) const {
  const double share =
      logarithmic ? std::log(value / low) / std::log(high / low) : (value - low) / (high - low);
  return start_mm + share * length_mm;
}

std::vector<double> Axis::ticks(int most) const {
  FROSTCAL_ASSERT(high > low && (!logarithmic || low > 0) && most >= 2, "axis range");
  if (logarithmic) {
    std::vector<double> best;
    for (const std::vector<double>& digits :
         {std::vector<double>{1}, {1, 3}, {1, 2, 5}, {1, 2, 3, 5, 7}, {1, 2, 3, 4, 5, 6, 7, 8, 9}}) {
      const std::vector<double> values = multiples(low, high, digits);
      if (static_cast<int>(values.size()) <= most) best = values;
    }
    if (best.size() >= 2) return best;
  }
  std::vector<double> values;
  double step = std::pow(10.0, std::floor(std::log10((high - low) / most)));
  for (const double factor : {1.0, 2.0, 5.0, 10.0})
    if ((high - low) / (step * factor) <= most) {
      step *= factor;
      break;
    }
  for (double i = std::ceil(low / step - 1e-9); i * step <= high + 1e-9 * step; ++i)
    values.push_back(i * step);
  return values;
}

}  // namespace frostcal::report
