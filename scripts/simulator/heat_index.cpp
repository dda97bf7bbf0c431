#include "simulator/heat_index.hpp"

#include <algorithm>
#include <cmath>

namespace frostcal::simulator {
namespace {
constexpr double kPi = 3.141592653589793;
constexpr double kE = 2.718281828459045;
constexpr double kFastLimit = 0.8147491154;
constexpr double kBlend = 1.946;
}  // namespace

double relative_peak(double peclet) {
  return std::pow(1.0 + std::pow(std::sqrt(peclet) / kFastLimit, kBlend), -1.0 / kBlend);
}

double peak_index(double power_w, double speed_mm_s, double radius_mm) {
  const double stationary = kAbsorbed * power_w / (std::sqrt(2.0 * kPi) * kConductivity * radius_mm);
  return stationary * relative_peak(speed_mm_s * radius_mm / (4.0 * kDiffusivity));
}

double heated_depth_mm(double power_w, double speed_mm_s, double rise_k) {
  return std::sqrt(2.0 * kAbsorbed * power_w / (kPi * kE * kHeatCapacity * speed_mm_s * rise_k));
}

double line_ripple(double radius_mm, double pitch_mm) {
  const double ratio = kPi * radius_mm / pitch_mm;
  return std::min(1.0, 2.0 * std::exp(-0.5 * ratio * ratio));
}

}  // namespace frostcal::simulator
