#include "choice/power_information.hpp"

#include <array>
#include <cmath>
#include <cstddef>

namespace frostcal::choice {

namespace {

constexpr double kStep = 0.02;  // of ln power, either way

// Sum of p'^2 / p over the grades, of a multinomial.
template <std::size_t Grades>
double information(const std::array<double, Grades>& less, const std::array<double, Grades>& more) {
  double sum = 0;
  for (std::size_t k = 0; k < Grades; ++k) {
    const double slope = (more[k] - less[k]) / (2 * kStep);
    const double chance = (more[k] + less[k]) / 2;
    if (chance > 1e-9) sum += slope * slope / chance;
  }
  return sum;
}

}  // namespace

double power_information(const surface::GlassSurface& surface, const surface::PhysicalSetting& setting) {
  const auto with_power = [&](double factor) {
    surface::PhysicalSetting changed = setting;
    changed.power_w *= factor;
    return surface.grade_probabilities(changed);
  };
  const surface::GradeProbabilities less = with_power(std::exp(-kStep));
  const surface::GradeProbabilities more = with_power(std::exp(kStep));
  return information(less.frost, more.frost) + information(less.chipping, more.chipping);
}

}  // namespace frostcal::choice
