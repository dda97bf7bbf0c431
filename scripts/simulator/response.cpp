#include "simulator/response.hpp"

#include <algorithm>
#include <cmath>

#include "simulator/heat_index.hpp"

namespace frostcal::simulator {
namespace {

// Heating that takes soda-lime past its transition (about 550 C).
constexpr double kTransitionRise = 550;

double smooth_maximum(double a, double b, double c) {
  const double top = std::max({a, b, c});
  return top + std::log(std::exp(a - top) + std::exp(b - top) + std::exp(c - top));
}

double softplus(double x) {
  return x > 30 ? x : std::log1p(std::exp(x));
}

double marked_share(double sigma, double ratio, double halo, const Exposure& e) {
  if (ratio <= 1.0) return 0.0;
  const double width = 2.0 * sigma * std::sqrt(2.0 * std::log(ratio)) + halo * std::min(1.0, std::log(ratio));
  const double cover = e.tone * width / e.pitch_mm;
  return 1.0 - std::exp(-1.6 * cover * cover);
}

}  // namespace

Look mean_look(const HiddenGlass& glass, const Exposure& e) {
  const double radius = 0.5 * e.spot_mm * glass.spot_factor;
  const double ratio = peak_index(e.power_w, e.speed_mm_s, radius) / glass.onset_index;
  const double dose = e.passes * e.power_w * e.tone / (e.speed_mm_s * e.pitch_mm);

  const double share = marked_share(0.5 * radius, ratio, glass.halo_mm, e);
  const double density = 1.0 - std::exp(-std::pow(dose / glass.saturation_j_mm2, 1.3));
  const double overlap = 2.0 * radius * std::sqrt(e.tone) / e.pitch_mm;
  const double unmelted = 1.0 / (1.0 + std::pow(ratio / glass.melt_ratio, glass.melt_sharpness) +
                                 std::pow(overlap / glass.overlap_limit, 5.0));
  const double ripple = line_ripple(radius, e.pitch_mm / std::sqrt(e.tone));
  const double haste = glass.haste_grades * std::pow(e.speed_mm_s / 1000.0, 2.0);
  Look look;
  look.frost = glass.densest_grade * std::pow(share * density * unmelted, 0.8) -
               share * (glass.banding_grades * ripple + haste);

  const double depth = heated_depth_mm(e.power_w, e.speed_mm_s, kTransitionRise) * std::pow(e.passes, 0.25);
  const double width = glass.chip_width;
  const double x = smooth_maximum(std::log(dose / glass.chip_j_mm2) / width,
                                  2.0 * std::log(depth / glass.chip_depth_mm) / width,
                                  1.5 * std::log(ratio / glass.chip_ratio) / width);
  look.chipping = glass.chip_floor + glass.chip_rate * softplus(x);
  return look;
}

}  // namespace frostcal::simulator
