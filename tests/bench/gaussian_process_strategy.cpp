#include <nlohmann/json.hpp>
#include <set>

#include "bench/child_program.hpp"
#include "bench/strategy.hpp"

namespace frostcal::bench {
namespace {

using nlohmann::json;

class GaussianProcessStrategy : public Strategy {
 public:
  GaussianProcessStrategy(std::string python, std::string script, int batch)
      : program_({std::move(python), std::move(script)}), batch_(batch) {}

  std::string name() const override { return "Gaussian process, constrained expected improvement"; }

  std::vector<Outcome> run(const World& world, const std::vector<int>& budgets) override {
    std::vector<Outcome> outcomes;
    json seen = json::array();
    Outcome so_far;
    for (int grid = 1; outcomes.size() < budgets.size(); ++grid) {
      const int budget = budgets[outcomes.size()];
      const int wanted = std::min(batch_, budget - so_far.swatches);
      const json next = asked(world, seen, wanted)["next"];
      const std::string grid_name = "grid-" + std::to_string(grid);
      std::set<int> dpi;
      for (const json& point : next) {
        const shop::Setting setting = snapped(world.machine, point[0], point[1], point[2]);
        dpi.insert(setting.dpi);
        const std::string bottle = "bottle-" + std::to_string(so_far.swatches / kSwatchesPerBottle + 1);
        const auto grades = world.burn(setting, {grid_name, bottle, std::to_string(so_far.swatches++), 0});
        seen.push_back({setting.power_pct, setting.speed_pct, setting.dpi, grades.frost, grades.chipping});
      }
      so_far.burns += static_cast<int>(dpi.size());
      so_far.bottles = (so_far.swatches + kSwatchesPerBottle - 1) / kSwatchesPerBottle;
      if (so_far.swatches < budget) continue;
      const json chosen = asked(world, seen, 0)["chosen"];
      outcomes.push_back(so_far);
      outcomes.back().chosen = snapped(world.machine, chosen[0], chosen[1], chosen[2]);
    }
    return outcomes;
  }

 private:
  json asked(const World& world, const json& seen, int wanted) {
    const json question{{"seed", world.seed},
                        {"dpi", world.machine.dpi},
                        {"power", {world.machine.power_pct.min, world.machine.power_pct.max}},
                        {"speed", {world.machine.speed_pct.min, world.machine.speed_pct.max}},
                        {"bar", {world.bar.frost, world.bar.chipping}},
                        {"seen", seen},
                        {"wanted", wanted}};
    return json::parse(program_.ask(question.dump()));
  }

  ChildProgram program_;
  int batch_;
};

}  // namespace

std::unique_ptr<Strategy> gaussian_process_strategy(std::string python, std::string script, int batch) {
  return std::make_unique<GaussianProcessStrategy>(std::move(python), std::move(script), batch);
}

}  // namespace frostcal::bench
