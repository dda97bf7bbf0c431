#include <set>

#include "bench/fitted_outcome.hpp"
#include "bench/strategy.hpp"
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
      const std::string name = surface::surface_name(test::SimulatedShop::kGlass, world.machine.name);
      outcomes.push_back(fitted_outcome(world, shop.surfaces.glass(name), so_far));
    }
    return outcomes;
  }

 private:
  PlannedRun run_;
};

}  // namespace

std::unique_ptr<Strategy> planned_strategy(PlannedRun run) {
  return std::make_unique<PlannedStrategy>(std::move(run));
}

}  // namespace frostcal::bench
