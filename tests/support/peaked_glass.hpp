// A made-up glass that frosts best at the coordinates' centre and chips above it, as the surface sees it.
#pragma once

#include <algorithm>
#include <cmath>

#include "numerics/random_engine.hpp"
#include "surface/observation.hpp"
#include "surface/surface_basis.hpp"

namespace frostcal::test {

inline const surface::CoordinateCentre kPeakedCentre{25.0, 380.0, 25.4 / 350};
inline const surface::PhysicalSetting kPeakedBest{25, 380, 25.4 / 350, 1, 1};

/// Power and speed at random, five pitches in turn.
inline surface::PhysicalSetting peaked_setting(numerics::RandomEngine& random, int number) {
  const double power = std::exp(std::log(7.0) + random.uniform() * 2.5);
  const double speed = std::exp(std::log(110.0) + random.uniform() * 2.5);
  return {power, speed, 25.4 / (250 + 50 * (number % 5)), 1, 1};
}

/// Grades the swatch as one burned at `setting`, with 0.3 grades of noise.
inline void grade_as_peaked(surface::Observation& swatch, const surface::PhysicalSetting& setting,
                            numerics::RandomEngine& random) {
  const surface::Coordinates u = surface::coordinates(setting, kPeakedCentre);
  const double frost = 5.3 - 0.9 * u(0) * u(0) - 0.5 * u(1) * u(1) - 0.4 * u(2) * u(2);
  const double chipping = 1.6 * (u(0) - 0.9) + 0.5 * u(1);
  swatch.frost = static_cast<int>(std::lround(std::clamp(frost + 0.3 * random.normal(), 0.0, 5.0)));
  swatch.chipping = static_cast<int>(std::lround(std::clamp(chipping + 0.3 * random.normal(), 0.0, 3.0)));
}

}  // namespace frostcal::test
