#include <algorithm>
#include <cmath>
#include <cstdio>
#include <set>

#include "bench/fitted_outcome.hpp"
#include "bench/strategy.hpp"
#include "choice/targeted_grid.hpp"
#include "numerics/sobol.hpp"
#include "simulator/random_stream.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::bench {
namespace {

constexpr int kKnownSwatches = 48;
const std::string kHidden = "hidden";

double in_logs(double low, double high, double share) {
  return low * std::pow(high / low, share);
}

// One grid a day.
std::string day_of(int grid) {
  char text[16];
  std::snprintf(text, sizeof text, "2026-%02d-%02d", 1 + grid / 28 % 12, 1 + grid % 28);
  return text;
}

// Grades of one shop as they come in.
class Evidence {
 public:
  explicit Evidence(const World& world) {
    shop_.machines = {world.machine};
    shop_.acceptance = world.bar;
    options_ = surface::shop_fit_options(shop_);
    options_.basis = std::make_shared<surface::SurfaceBasis>(options_.centre);
  }

  void burn(const World& world, const std::string& glass, const std::vector<shop::Setting>& settings,
            Outcome& so_far) {
    const std::string grid = glass + "-grid-" + std::to_string(++grids_);
    std::set<std::pair<std::string, int>> burns;
    std::set<std::string> bottles;
    for (const shop::Setting& setting : settings) {
      const std::string bottle = glass + '-' + std::to_string(so_far.swatches / kSwatchesPerBottle + 1);
      burns.emplace(bottle, setting.dpi);
      const std::string id = std::to_string(++so_far.swatches);
      const auto grades = world.burn(setting, {grid, bottle, id, 0});
      surface::Observation seen;
      seen.glass = glass;
      seen.bottle = bottle;
      seen.burn = grid + '/' + bottle + '/' + std::to_string(setting.dpi);
      seen.grader = "simulated";
      seen.day = day_of(grids_);
      seen.swatch = grid + ' ' + id;
      seen.setting = surface::physical_setting(setting, world.machine);
      seen.frost = grades.frost;
      seen.chipping = grades.chipping;
      observations_.push_back(seen);
    }
    so_far.burns += static_cast<int>(burns.size());
    so_far.bottles = (so_far.swatches + kSwatchesPerBottle - 1) / kSwatchesPerBottle;
  }

  surface::ShopSurface fitted() const { return surface::fit_shop(observations_, options_); }

 private:
  shop::Shop shop_;
  surface::FitOptions options_;
  std::vector<surface::Observation> observations_;
  int grids_ = 0;
};

class SurfaceStrategy : public Strategy {
 public:
  explicit SurfaceStrategy(SurfaceRun run) : run_(run) {}

  std::string name() const override {
    if (run_.points == Points::random) return "random points, same fit (in process)";
    std::string text = "targeted " + std::to_string(run_.batch) + "s after " + std::to_string(run_.opening) +
                       " spread, at most " + std::to_string(run_.most_dpi) + " dpi a grid";
    if (run_.known_glasses > 0) text += ", " + std::to_string(run_.known_glasses) + " glasses known";
    return text + " (in process)";
  }

  std::vector<Outcome> run(const World& world, const std::vector<int>& budgets) override {
    Evidence evidence(world);
    for (int known = 1; known <= run_.known_glasses; ++known) {
      const World other =
          make_world(world.seed * 100 + 1000 + static_cast<std::uint64_t>(known), world.machine, world.tight);
      Outcome so_far;
      while (so_far.swatches < kKnownSwatches) {
        const std::string glass = "known-" + std::to_string(known);
        evidence.burn(other, glass, next_settings(other, evidence, glass, 12, so_far.swatches), so_far);
      }
    }
    std::vector<Outcome> outcomes;
    Outcome so_far;
    for (const int budget : budgets) {
      while (so_far.swatches < budget) {
        const int usual = so_far.swatches == 0 ? run_.opening : run_.batch;
        const int wanted = std::min(usual, budget - so_far.swatches);
        evidence.burn(world, kHidden, next_settings(world, evidence, kHidden, wanted, so_far.swatches),
                      so_far);
      }
      const surface::ShopSurface surfaces = evidence.fitted();
      outcomes.push_back(fitted_outcome(world, surfaces.glass(kHidden), so_far));
    }
    return outcomes;
  }

 private:
  std::vector<shop::Setting> next_settings(const World& world, const Evidence& evidence,
                                           const std::string& glass, int wanted, int burned) const {
    if (run_.points == Points::random) return random_settings(world, wanted, burned);
    const bool nothing_known = burned == 0 && run_.known_glasses == 0;
    if (nothing_known || (burned == 0 && glass != kHidden)) return spread_settings(world, wanted);
    const surface::ShopSurface surfaces = evidence.fitted();
    choice::TargetedOptions options;
    options.swatches = wanted;
    options.most_dpi = run_.most_dpi;
    options.seed = world.seed + static_cast<std::uint64_t>(burned);
    return choice::plan_targeted(surfaces.glass(glass), world.machine, world.machine, world.bar.chance,
                                 options)
        .settings;
  }

  std::vector<shop::Setting> random_settings(const World& world, int wanted, int burned) const {
    simulator::RandomStream random(world.seed, "random points " + std::to_string(burned));
    return settings_from(world.machine, wanted, 0.0, [&](int, int) { return random.uniform(); });
  }

  std::vector<shop::Setting> spread_settings(const World& world, int wanted) const {
    const Eigen::MatrixXd points = numerics::sobol_points(wanted, 3, world.seed);
    std::vector<shop::Setting> settings =
        settings_from(world.machine, wanted, 0.1, [&](int i, int dimension) { return points(i, dimension); });
    // At most three burns: the lowest, middle and highest third of the wished dpi share one value each.
    std::vector<int> order(settings.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<int>(i);
    std::sort(order.begin(), order.end(), [&](int a, int b) { return points(a, 2) < points(b, 2); });
    for (std::size_t i = 0; i < order.size(); ++i) {
      const auto third = static_cast<double>(static_cast<int>(3 * i / order.size()));
      const double wished =
          in_logs(world.machine.dpi.front(), world.machine.dpi.back(), 0.1 + 0.8 * (third + 0.5) / 3.0);
      shop::Setting& setting = settings[static_cast<std::size_t>(order[i])];
      setting = snapped(world.machine, setting.power_pct, setting.speed_pct, wished);
    }
    return settings;
  }

  template <typename Uniform>
  static std::vector<shop::Setting> settings_from(const shop::Machine& machine, int count, double margin,
                                                  Uniform uniform) {
    const auto share = [&](int i, int dimension) {
      return margin + (1 - 2 * margin) * uniform(i, dimension);
    };
    std::vector<shop::Setting> settings;
    for (int i = 0; i < count; ++i) {
      const double power = in_logs(machine.power_pct.min, machine.power_pct.max, share(i, 0));
      const double speed = in_logs(machine.speed_pct.min, machine.speed_pct.max, share(i, 1));
      settings.push_back(
          snapped(machine, power, speed, in_logs(machine.dpi.front(), machine.dpi.back(), share(i, 2))));
    }
    return settings;
  }

  SurfaceRun run_;
};

}  // namespace

std::unique_ptr<Strategy> surface_strategy(SurfaceRun run) {
  return std::make_unique<SurfaceStrategy>(run);
}

}  // namespace frostcal::bench
