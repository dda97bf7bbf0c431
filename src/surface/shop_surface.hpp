// The fitted response surfaces of all glasses of a shop, and what they say of a setting.
// The statistics are those of the README's section on statistics; sources stand in the headers they come
// from.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "surface/observation.hpp"

namespace frostcal::surface {

enum class Link { probit, logit };
enum class FitStatus { converged, not_converged, no_data };

struct Bar {
  int frost = 4;     // acceptable when frost >= this
  int chipping = 0;  // and chipping <= this
};

/// The centre of the log coordinates: the geometric middle of the machine's ranges, in physical units.
struct CoordinateCentre {
  double power_w = 0;
  double speed_mm_s = 0;
  double pitch_mm = 0;
};

struct FitOptions {
  Link link = Link::probit;
  Bar bar;
  CoordinateCentre centre;
  int scale_settings = 24;  // settings of the prior scales that are averaged over
  int draws = 400;          // posterior draws behind each interval
  std::uint64_t seed = 1;   // of the scrambled point set and of the draws
  bool pool = true;         // let glasses inform one another
};

struct ChanceInterval {
  double chance = 0;  // posterior mean
  double low = 0;     // 5 % quantile
  double high = 0;    // 95 % quantile
};

struct GradeProbabilities {
  std::array<double, 6> frost{};
  std::array<double, 4> chipping{};
};

}  // namespace frostcal::surface
