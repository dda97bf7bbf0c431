// The setting with the highest chance of an acceptable new bottle among all that the machine accepts.
#pragma once

#include <Eigen/Core>
#include <functional>
#include <optional>
#include <vector>

#include "choice/machine_settings.hpp"
#include "shop/shop.hpp"
#include "surface/observation.hpp"

namespace frostcal::choice {

/// Chance of an acceptable new bottle at each setting (probabilities, one per setting, same order).
using ChanceOf = std::function<Eigen::VectorXd(const std::vector<surface::PhysicalSetting>&)>;

struct SearchOptions {
  double coarse_ratio = 1.13;  // first walk: neighbouring powers or speeds differ by this factor
  int refined = 12;            // best coarse places that are walked in full
  double drift = 0.05;         // the objective is the mean chance at power * {1 - drift, 1, 1 + drift}
  double tie = 0.005;          // settings this close in objective count as equal: the faster one wins
};

struct RankedSetting {
  shop::Setting setting;
  double objective = 0;  // mean chance under drift
  double chance = 0;     // at the setting itself
};

/// Settings seen in the search, best objective first; the first is the choice, ties decided for the faster.
/// Skips settings above the machine's dose limit. Empty only when the dose limit forbids everything. Misses
/// the true maximum by less than 0.002: best_setting_test.cpp, "coarse to fine".
std::vector<RankedSetting> rank_settings(const shop::Machine& machine, const ChanceOf& chance,
                                         const SearchOptions& options = {});

/// The first of `ranked` and up to `most` - 1 others that differ from all before by dpi or tone, or by a
/// factor of at least 1.25 in power or speed, with an objective within `margin` of the first.
std::vector<RankedSetting> distinct_settings(const std::vector<RankedSetting>& ranked, int most,
                                             double margin);

/// The `most` fastest of all settings that the machine accepts with a chance within `margin` of `highest`,
/// fastest first (ties: higher chance); objective is their chance.
std::vector<RankedSetting> fastest_settings(const shop::Machine& machine, const ChanceOf& chance,
                                            double highest, double margin, std::size_t most);

enum class Vary { power, speed };

/// Largest drift in percent, either way, over which the chance stays at or above `target`; at most 50, in
/// steps of 0.5; 0 when the chance is below target without drift.
double drift_tolerance_pct(const shop::Setting& setting, const shop::Machine& machine, const ChanceOf& chance,
                           double target, Vary vary);

}  // namespace frostcal::choice
