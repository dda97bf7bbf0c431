// A shop whose glass is hidden: plans with the real planner, grades with the simulated operator, in memory.
#pragma once

#include <string>

#include "bench/world.hpp"
#include "choice/next_grid.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::test {

class SimulatedShop {
 public:
  static constexpr const char* kGlass = "hidden";

  explicit SimulatedShop(const std::vector<bench::World>& worlds) : worlds_(worlds) {
    for (const bench::World& world : worlds) shop.machines.push_back(world.machine);
    shop.folder = "in-memory";  // so that no files of the working folder are read
    shop.acceptance = worlds.front().bar;
    shop.vessels.push_back({"jug", 88, 88, 95, 2});
    shop.glasses.push_back({kGlass, "soda-lime", "clear", "jug", {}});
    options_ = surface::shop_fit_options(shop);
    options_.basis = std::make_shared<surface::SurfaceBasis>(options_.centre);
    fit();
  }

  /// Plans a grid for the machine, burns, grades and fits.
  void burn_grid(choice::GridRequest request) {
    request.glass = kGlass;
    request.seed = worlds_.front().seed * 1000 + evidence.grids.size();
    choice::PlannedGrid plan = choice::plan_grid(shop, evidence, surfaces, request, "2026-11-25T11:14:05Z");
    // The planner takes the number from the folder; here there is none.
    plan.grid.number = static_cast<int>(evidence.grids.size()) + 1;
    plan.grid.id = std::to_string(1000 + plan.grid.number) + "-hidden";
    surface::GradedGrid graded{plan.grid, {}};
    for (const design::Swatch& swatch : plan.grid.swatches) {
      const double turn = 2 * swatch.y_mm / 88;
      const bench::World& there = world(plan.grid.machine);
      simulator::Exposure exposure = simulator::exposure_of(there.machine, swatch.setting);
      exposure.power_w *= delivered;
      const simulator::Grades seen = simulator::grade_swatch(there.glass, there.seed, exposure,
                                                             {plan.grid.id, swatch.bottle, swatch.id, turn});
      grades::SwatchGrade grade;
      grade.swatch = swatch.id;
      grade.frost = seen.frost;
      grade.chipping = seen.chipping;
      grade.grader = "simulated";
      grade.graded_at = day(evidence.grids.size()) + "T15:00:00Z";
      graded.graded.push_back(grade);
    }
    const auto observations = surface::observations_of(shop, graded);
    evidence.observations.insert(evidence.observations.end(), observations.begin(), observations.end());
    evidence.grids.push_back(graded);
    fit();
  }

  const bench::World& world(const std::string& machine) const {
    for (const bench::World& one : worlds_) {
      if (one.machine.name == machine) return one;
    }
    return worlds_.front();
  }

  shop::Shop shop;
  surface::ShopEvidence evidence;
  surface::ShopSurface surfaces;
  double delivered = 1;           // share of the power that reaches the glass, of what the dials say
  std::string month = "2026-09";  // in which grids are burned, a day each

 private:
  void fit() { surfaces = surface::fit_shop(evidence.observations, options_); }
  std::string day(std::size_t grid) const {
    const std::string number = std::to_string(1 + grid % 28);
    return month + "-" + std::string(number.size() < 2 ? "0" : "") + number;
  }

  std::vector<bench::World> worlds_;
  surface::FitOptions options_;
};

}  // namespace frostcal::test
