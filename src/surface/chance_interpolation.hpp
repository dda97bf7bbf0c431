// Smooth functions of many settings from few evaluations.
#pragma once

#include <Eigen/Core>
#include <functional>
#include <vector>

#include "surface/observation.hpp"

namespace frostcal::surface {

inline constexpr double kInterpolationStep = 0.09;  // largest, of ln power and of ln speed
inline constexpr int kSmallestInterpolated = 1500;  // settings that share pitch, tone and passes

/// Interpolates a vector-valued function of the setting. `exact` returns one row of `width` values per
/// setting. Settings are grouped by pitch, tone and passes; a group of at least kSmallestInterpolated is
/// interpolated by cubic convolution (R. G. Keys, IEEE Trans. Acoust. Speech Signal Process. 29 (1981)
/// 1153-1160) in ln power and ln speed on a grid over the group's own range, others are evaluated exactly.
Eigen::MatrixXd interpolate_over_power_and_speed(
    const std::vector<PhysicalSetting>& settings, int width,
    const std::function<Eigen::MatrixXd(const std::vector<PhysicalSetting>&)>& exact);

}  // namespace frostcal::surface
