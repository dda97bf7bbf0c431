// Smooth functions of many settings from few evaluations.
#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <functional>
#include <vector>

#include "surface/observation.hpp"

namespace frostcal::surface {

inline constexpr double kInterpolationStep = 0.13;  // largest, of ln power and of ln speed
inline constexpr std::size_t kInterpolationGain =
    2;  // settings for each node that make a grid worth its nodes

/// Interpolates a vector-valued function of the setting. `exact` returns one row of `width` values per
/// setting. Settings are grouped by pitch, tone and passes; a group of at least kInterpolationGain settings
/// per node is interpolated by six-point Lagrange polynomials (from memory) in ln power and ln speed on a
/// grid over the group's own range, others are evaluated exactly.
Eigen::MatrixXd interpolate_over_power_and_speed(
    const std::vector<PhysicalSetting>& settings, int width,
    const std::function<Eigen::MatrixXd(const std::vector<PhysicalSetting>&)>& exact);

}  // namespace frostcal::surface
