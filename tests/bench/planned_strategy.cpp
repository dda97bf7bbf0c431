#include <set>

#include "bench/strategy.hpp"
#include "choice/best_setting.hpp"
#include "recovery/simulated_shop.hpp"

namespace frostcal::bench {
namespace {

class PlannedStrategy : public Strategy {
 public:
  explicit PlannedStrategy(PlannedRun run) : run_(std::move(run)) {}

  std::string name() const override {
    std::string text = "plan_grid, opening";
    for (const int batch : run_.batches) text += ' ' + std::to_string(batch);
    return text + " each (in process)";
  }

  std::vector<Outcome> run(const World& world, const std::vector<int>& budgets) override {
    test::SimulatedShop shop({world});
    std::vector<Outcome> outcomes;
    std::set<std::string> bottles;
    Outcome so_far;
    for (const int budget : budgets) {
      while (so_far.swatches < budget) {
        const std::size_t round = std::min(shop.evidence.grids.size(), run_.batches.size() - 1);
        choice::GridRequest request;
        request.swatches = std::min(run_.batches[round], budget - so_far.swatches);
        shop.burn_grid(request);
        const design::Grid& grid = shop.evidence.grids.back().grid;
        for (const std::string& bottle : grid.bottles()) bottles.insert(bottle);
        so_far.swatches += static_cast<int>(grid.swatches.size());
        so_far.burns += grid.burns();
        so_far.bottles = static_cast<int>(bottles.size());
      }
      outcomes.push_back(chosen(world, shop, so_far));
    }
    return outcomes;
  }

 private:
  static Outcome chosen(const World& world, const test::SimulatedShop& shop, Outcome so_far) {
    const std::string name = surface::surface_name(test::SimulatedShop::kGlass, world.machine.name);
    const surface::GlassSurface& glass = shop.surfaces.glass(name);
    const auto ranked = choice::rank_settings(
        world.machine,
        [&](const std::vector<surface::PhysicalSetting>& settings) { return glass.scan_chance(settings); });
    if (ranked.empty()) return so_far;
    so_far.chosen = ranked.front().setting;
    const auto said = glass.chance(surface::physical_setting(*so_far.chosen, world.machine));
    so_far.promise = Outcome::Promise{said.chance, said.low, said.high};
    return so_far;
  }

  PlannedRun run_;
};

}  // namespace

std::unique_ptr<Strategy> planned_strategy(PlannedRun run) {
  return std::make_unique<PlannedStrategy>(std::move(run));
}

}  // namespace frostcal::bench
