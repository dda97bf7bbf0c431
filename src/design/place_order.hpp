// Which of a bottle's places each of its swatches gets.
#pragma once

#include <vector>

#include "numerics/random_engine.hpp"
#include "shop/machine.hpp"
#include "shop/setting.hpp"

namespace frostcal::design {

/// Middle of a place: x along the bottle's axis, y round it.
struct Place {
  double x_mm = 0;
  double y_mm = 0;
};

/// No factor (ln power, ln speed, ln dpi, ln dose) goes with a place (x, y, distance from the middle, by the
/// larger of the two coordinates) by more than this correlation where some order of the swatches allows it; a
/// judgement. By chance alone 12 swatches exceed it once in ten.
inline constexpr double kMostPlaceCorrelation = 0.5;

/// The places in the order of the settings, as many of them. Of 200 random orders (20 above 200 settings)
/// those within kMostPlaceCorrelation count, and of these the one in which neighbours, no further apart than
/// `reach_mm`, are least alike in dose: least sum of the products of their dose ranks less the mean rank. (A
/// sum of products of doses would send the hot ones to the edges, where neighbours are few.) Where no order
/// is within, the one of least correlation.
std::vector<Place> scattered(const std::vector<shop::Setting>& settings, std::vector<Place> places,
                             const shop::Machine& machine, double reach_mm, numerics::RandomEngine& random);

}  // namespace frostcal::design
