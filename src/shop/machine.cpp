#include "shop/machine.hpp"

#include <algorithm>
#include <cmath>

#include "errors/bug.hpp"

namespace frostcal::shop {

std::string to_text(Side side) {
  return side == Side::left ? "left" : "right";
}

double SteppedRange::steps() const {
  FROSTCAL_ASSERT(step > 0 && max >= min, "a range needs a positive step and min <= max");
  return std::floor((max - min) / step + 1e-6);
}

std::vector<double> SteppedRange::values() const {
  const long count = static_cast<long>(steps());
  std::vector<double> all;
  all.reserve(static_cast<std::size_t>(count) + 1);
  for (long i = 0; i <= count; ++i) all.push_back(min + step * static_cast<double>(i));
  return all;
}

bool SteppedRange::accepts(double value) const {
  if (!std::isfinite(value) || value < min - kSameDial || value > max + kSameDial) return false;
  return std::abs(value - dialled(value)) <= kSameDial;
}

double SteppedRange::dialled(double value) const {
  return min + step * std::round((value - min) / step);
}

double SteppedRange::nearest(double wished) const {
  const double last = steps();
  const double below = std::clamp(std::floor((wished - min) / step), 0.0, last);
  const double low = min + step * below;
  const double high = min + step * std::min(below + 1, last);
  return std::abs(std::log(high / wished)) < std::abs(std::log(low / wished)) ? high : low;
}

int Machine::most_recipes() const {
  constexpr int kPalette = 64;  // colours that sheet::recipe_inks tells apart
  return std::min(fills.empty() ? kPalette : static_cast<int>(fills.size()), recipes_per_burn);
}

double Machine::delivered_power_w(double power_pct_value) const {
  if (measured_power_w.empty()) return rated_power_w * power_pct_value / 100.0;
  const auto& curve = measured_power_w;
  if (power_pct_value <= curve.front().first)
    return curve.front().second * power_pct_value / curve.front().first;
  for (std::size_t i = 1; i < curve.size(); ++i) {
    if (power_pct_value <= curve[i].first) {
      const double part = (power_pct_value - curve[i - 1].first) / (curve[i].first - curve[i - 1].first);
      return curve[i - 1].second + part * (curve[i].second - curve[i - 1].second);
    }
  }
  return curve.back().second;
}

}  // namespace frostcal::shop
