// What is believed of the chance that all bottles of a batch share, and what follows for the batch.
//
// Bottles are independent given that chance, and it is not exactly known: P(no reject) is the mean of p^n
// over the belief, never the mean's power, and the number of good ones is a mixture of binomials.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "surface/glass_surface.hpp"
#include "table/settings_row.hpp"

namespace frostcal::table {

/// A belief about a chance as a beta distribution.
struct BatchChance {
  double mean = 0;       // 0..1
  double precision = 0;  // a + b, > 0; infinity = the chance is known exactly
};

/// A belief as weighted values: what the draws of a surface say.
struct DrawnChance {
  Eigen::VectorXd chance;            // each 0..1
  Eigen::VectorXd weight;            // as many, sum 1
  surface::ChanceInterval single{};  // of one new bottle, as `fit` gives it
  double mean() const { return chance.dot(weight); }
};

/// For a row without a surface: the beta with the row's mean and its low end as 5 % quantile. What decides
/// about a batch is how low the chance may be and how much of the belief lies near 1, and the draws of a
/// surface pile up there. Where no such beta exists, the one whose standard deviation is that of a normal
/// with the 90 % interval.
BatchChance batch_chance(const SettingsRow& row);

/// Of a surface, over its draws and over what the bottles of one batch share beside the surface: the person
/// who looks at them and the day's power (kDaySd of ln power, 5-point Gauss-Hermite). The mean is by what the
/// day costs under the chance of a single bottle. `places` are the settings that a bottle gets, several where
/// it tapers (GlassSurface::drawn_chance_of_all).
DrawnChance drawn_batch(const surface::GlassSurface& surface,
                        const std::vector<surface::PhysicalSetting>& places);

/// P(all of `pieces` come out good).
double no_reject_chance(int pieces, const BatchChance& chance);
double no_reject_chance(int pieces, const DrawnChance& chance);

/// Of the first `pieces` bottles, the number of rejects that is not exceeded with probability `share`.
int rejects_quantile(int pieces, const BatchChance& chance, double share);
int rejects_quantile(int pieces, const DrawnChance& chance, double share);

/// Smallest number of bottles of which at least `pieces` come out good with probability `sure`; 0 when more
/// than 20 times as many would be needed.
int bottles_needed(int pieces, const BatchChance& chance, double sure);
int bottles_needed(int pieces, const DrawnChance& chance, double sure);

}  // namespace frostcal::table
