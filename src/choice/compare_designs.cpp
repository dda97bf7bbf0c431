#include "choice/compare_designs.hpp"

#include "choice/targeted_grid.hpp"
#include "design/design_by_name.hpp"
#include "errors/user_error.hpp"
#include "surface/physical_setting.hpp"

namespace frostcal::choice {

DesignComparison compare_designs(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                                 const surface::ShopSurface& surfaces, const GridRequest& request,
                                 const std::string& now, const Progress& progress) {
  // Wrong names and ranges are the user's to mend; only what one design can't do is told design by design.
  shop.glass(request.glass);
  const shop::Machine& machine = shop.machine_or_default(request.machine);
  const shop::Machine allowed = narrowed(machine, request);
  std::vector<std::string> names = design::opening_designs();
  if (!surfaces.glasses().empty()) names.insert(names.begin(), "targeted");
  DesignComparison comparison;
  std::vector<design::Grid> grids;
  std::vector<double> seconds;
  int tried = 0;
  for (const std::string& name : names) {
    GridRequest one = request;
    one.design = name;
    try {
      const PlannedGrid plan = plan_grid(shop, evidence, surfaces, one, now);
      grids.push_back(plan.grid);
      seconds.push_back(plan.burn_seconds);
    } catch (const errors::UserError& error) {
      comparison.impossible.emplace_back(name, error.what());
    }
    if (progress) progress(++tried, static_cast<int>(names.size()));
  }
  comparison.designs = design::compare_grids(grids, machine, allowed);
  for (std::size_t i = 0; i < seconds.size(); ++i) comparison.designs[i].burn_seconds = seconds[i];
  if (surfaces.glasses().empty()) return comparison;
  const surface::GlassSurface& surface = surfaces.glass(surface::surface_name(request.glass, machine.name));
  TargetedOptions other_draws;
  other_draws.seed = request.seed + 1;
  for (const design::Grid& grid : grids) {
    std::vector<shop::Setting> settings;
    for (const design::Swatch& swatch : grid.swatches) settings.push_back(swatch.setting);
    comparison.doubt_removed.push_back(doubt_removed(surface, machine, allowed, settings, other_draws));
  }
  return comparison;
}

}  // namespace frostcal::choice
