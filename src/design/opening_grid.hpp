// Opening grids, for a glass of which nothing is known.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <vector>

#include "design/exchange.hpp"
#include "shop/machine.hpp"
#include "shop/setting.hpp"

namespace frostcal::design {

struct SpreadOptions {
  int swatches = 12;
  int dpi_values = 3;  // each is a burn of its own
  double inner = 0.8;  // share of each log range that is used: the corners teach little
  int sets = 40;       // scrambled Sobol' sets tried; the one with the largest smallest distance is kept
  std::uint64_t seed = 1;
};

/// Space-filling settings on the dials of `allowed` (the machine with its ranges narrowed as the user asked),
/// below the machine's dose limit: Sobol' points in ln power and ln speed (and ln tone where it may vary),
/// dealt over evenly chosen dpi values. The distance between settings is Euclidean in (ln dose / 0.7, 0.7 ln
/// heat / 0.7, 0.55 ln pitch / 0.5), so that the set is densest where glasses differ most, in dose. Fewer
/// than asked only when the dose limit leaves too few.
std::vector<shop::Setting> spread_settings(const shop::Machine& machine, const shop::Machine& allowed,
                                           const SpreadOptions& options);

/// Full lattice: `power_levels` x `speed_levels` evenly spaced in percent over the ranges of `allowed`, at
/// each of its dpi and at its highest tone. Settings above the dose limit are left out.
std::vector<shop::Setting> lattice_settings(const shop::Machine& machine, const shop::Machine& allowed,
                                            int power_levels, int speed_levels);

/// Settings of a design in coded units: k = 3 columns are ln power, ln speed and ln pitch, k = 2 leaves out
/// the pitch (one dpi). The coded range -reach..reach is laid over the ranges of `allowed` in logs; each
/// value goes to the nearest on the dial. Runs above the dose limit are left out.
std::vector<shop::Setting> coded_settings(const Eigen::MatrixXd& coded, double reach,
                                          const shop::Machine& machine, const shop::Machine& allowed);

/// `runs` settings that are I- or D-optimal for a second-order surface in ln power, ln speed and (with more
/// than one dpi) ln pitch, chosen by exchange from a lattice of the dials inside the dose limit. At most
/// `dpi_values` dpi. Fewer runs than the model has terms (10, or 6 with one dpi) are raised to that number.
std::vector<shop::Setting> optimal_settings(const shop::Machine& machine, const shop::Machine& allowed,
                                            Criterion criterion, int runs, int dpi_values,
                                            std::uint64_t seed);

/// The accepted value of the dial that is nearest, in ratio, to the wished one.
double nearest_on_dial(const shop::SteppedRange& dial, double wished);

}  // namespace frostcal::design
