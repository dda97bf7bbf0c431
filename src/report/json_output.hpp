// What --json of `fit` and `plan` prints. Of these keys and those of all other commands: they may be added,
// never renamed.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "choice/decision.hpp"
#include "choice/glass_likeness.hpp"
#include "choice/leaning.hpp"
#include "shop/setting.hpp"
#include "surface/glass_surface.hpp"
#include "surface/shared_effects.hpp"

namespace frostcal::report {

/// A setting asked for with `fit --at`, and what is said of it.
struct AskedSetting {
  std::string glass;
  std::string machine;
  shop::Setting setting;
  surface::ChanceInterval chance;
  surface::GradeProbabilities grades;
};

/// {"glass": [...], "alike": [...], "power_trend": [...]} and, when anything was asked for, "at": [...]. One
/// line with a line end.
std::string fit_json(const std::vector<choice::GlassChoice>& choices,
                     const std::vector<choice::GlassLikeness>& alike,
                     const std::vector<surface::PowerTrend>& trends, const std::vector<AskedSetting>& asked);

struct PlanSummary {
  std::string grid, glass, machine, vessel, design;
  int swatches = 0;
  std::string fewer_because;  // than asked for; empty where there aren't
  int bottles = 0;
  std::vector<std::string> used_bottles;  // of these, those that earlier grids burned on
  int burns = 0;
  int recipes = 0;
  double burn_seconds = 0;
  std::string swatches_file, burn_file, run_file;
  std::optional<double> expected_gain;  // none for grids that no surface chose
  int confirming = 0;                   // swatches at the best setting so far
  int repeats = 0;
  choice::Leaning leaning;
  bool stop = false;
  std::string reference;             // id of the reference swatch; empty = none
  std::vector<std::string> waiting;  // earlier grids of the same glass and machine without any grade
};
std::string plan_json(const PlanSummary& plan);

}  // namespace frostcal::report
