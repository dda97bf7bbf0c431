// A way of looking for the best setting with a given number of swatches.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "bench/world.hpp"

namespace frostcal::bench {

/// What a strategy says when it has burned `swatches`.
struct Outcome {
  int swatches = 0;
  int burns = 0;  // sends to the machine: one dpi and one bottle each
  int bottles = 0;
  std::optional<shop::Setting> chosen;  // nothing: it dares name none, which counts as chance 0
  struct Promise {
    double chance = 0;
    double low = 0;
    double high = 0;
  };
  std::optional<Promise> promise;  // only some strategies make one
};

class Strategy {
 public:
  virtual ~Strategy() = default;
  virtual std::string name() const = 0;
  /// One outcome for each of `budgets` (ascending swatch counts), in order.
  virtual std::vector<Outcome> run(const World& world, const std::vector<int>& budgets) = 0;
};

/// Swatches that fit a scrap bottle, for strategies that do not lay out a sheet.
inline constexpr int kSwatchesPerBottle = 24;

/// Power x speed in even steps of percent over 10..100, each of `dpi` taking an equal share; the cell whose
/// own and neighbours' mean of frost - 2 x chipping is highest wins (common practice, no source).
std::unique_ptr<Strategy> lattice_strategy(std::vector<int> dpi);

/// From the middle: four levels of power, keep the best; four of speed; four of dpi; then again over half the
/// range about the best so far.
std::unique_ptr<Strategy> one_factor_strategy();

/// `frostcal` on the command line: plan an opening grid, grade, fit, and plan on in batches.
struct FrostcalRun {
  std::string program;      // path of frostcal
  std::string work_folder;  // shops are made below it
  int opening = 12;
  int batch = 6;
  int known_glasses = 0;  // other glasses already measured in the same shop, 48 swatches each
};
std::unique_ptr<Strategy> frostcal_strategy(FrostcalRun run);

/// The same fit and choice in this process, without files: tells the planner from the command line around it.
enum class Points {
  random,   // uniform in the logs of power, speed and dpi over the whole machine
  targeted  // space-filling opening in the inner 80 % of the logs, then choice::plan_targeted
};
struct SurfaceRun {
  Points points = Points::targeted;
  int opening = 12;
  int batch = 6;
  int known_glasses = 0;  // other glasses measured before, 48 swatches each, in the same fit
  int most_dpi = 3;       // dpi values in one grid
};
std::unique_ptr<Strategy> surface_strategy(SurfaceRun run);

/// choice::plan_grid itself, with its bottles, burns and roles, in this process and without files.
struct PlannedRun {
  std::vector<int> batches{12};  // swatches of the opening grid, of the second, ...; the last one goes on
};
std::unique_ptr<Strategy> planned_strategy(PlannedRun run);

/// Gaussian processes on the numeric grades, constrained expected improvement, from a general library; the
/// program is scripts/bench/gaussian_process_rival.py.
std::unique_ptr<Strategy> gaussian_process_strategy(std::string python, std::string script, int batch);

}  // namespace frostcal::bench
