// What a customer's piece takes: whether the art fits the bottle, lines, minutes, and how many will be good.
#pragma once

#include <string>
#include <vector>

#include "shop/shop.hpp"
#include "table/settings_row.hpp"

namespace frostcal::table {

/// As it looks on the standing bottle: `width` goes round it, `height` along its axis. mm.
struct ArtSize {
  double width_mm = 0;
  double height_mm = 0;
};

/// Time to take a bottle off, put the next on and find the place. Common practice, no source.
inline constexpr double kHandlingSeconds = 120;

struct JobEstimate {
  ArtSize art;
  long lines = 0;  // scan lines, each along the axis; one per pitch round the bottle
  double burn_seconds = 0;
  double pieces_per_hour = 0;         // burn and handling
  double round_deg = 0;               // how far round the bottle the art reaches
  bool fits = false;                  // on the panel, the round and the rotary
  std::vector<std::string> misfits;   // why not
  std::vector<std::string> warnings;  // it fits, but: a seam, a taper
  double dose_j_mm2 = 0;              // mean energy per area
  int pieces = 1;                     // of the batch
  double no_reject = 0;               // chance that the whole batch is good, the doubt about the row included
  double no_reject_low = 0;           // at the lower end of the chance's interval
  double no_reject_high = 0;          // at the upper end
  int bottles_to_bring = 1;           // to end with `pieces` good ones with probability 0.9
};

/// A belief about a chance as a beta distribution.
struct BatchChance {
  double mean = 0;       // 0..1
  double precision = 0;  // a + b, > 0; infinity = the chance is known exactly
};

/// The beta with the row's mean and its low end as 5 % quantile: what decides about a batch is how low the
/// chance may be and how much of the belief lies near 1, and the draws of a surface pile up there. Against
/// integrating over the draws (adoption_test.cpp) it misses by less than 0.1. Where no such beta exists, the
/// one whose standard deviation is that of a normal with the 90 % interval.
BatchChance batch_chance(const SettingsRow& row);

/// Time: shop::raster_time. Angle: width / (pi d) * 360 at the panel's middle, the diameter that the driver
/// is told. The art fits when its height is within the panel and the rotary, less kEdge at each end, and its
/// width within the round at the smallest diameter. Batches: pieces are independent given the chance, and the
/// whole batch shares one chance that is not exactly known, so the number of good ones is beta-binomial. At
/// the mean chance alone too few bottles would be brought. no_reject_low and no_reject_high are
/// chance_low^pieces and chance_high^pieces. `handling_seconds` >= 0.
JobEstimate estimate_job(const SettingsRow& row, const shop::Machine& machine, const shop::Vessel& vessel,
                         const ArtSize& art, int pieces, double handling_seconds = kHandlingSeconds);

/// P(all of `pieces` come out good).
double no_reject_chance(int pieces, const BatchChance& chance);

/// Smallest number of bottles of which at least `pieces` come out good with probability `sure`; 0 when more
/// than 20 times as many would be needed.
int bottles_needed(int pieces, const BatchChance& chance, double sure);

}  // namespace frostcal::table
