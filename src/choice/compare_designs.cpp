#include "choice/compare_designs.hpp"

#include "design/design_by_name.hpp"
#include "errors/user_error.hpp"

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
  int tried = 0;
  for (const std::string& name : names) {
    GridRequest one = request;
    one.design = name;
    try {
      grids.push_back(plan_grid(shop, evidence, surfaces, one, now).grid);
    } catch (const errors::UserError& error) {
      comparison.impossible.emplace_back(name, error.what());
    }
    if (progress) progress(++tried, static_cast<int>(names.size()));
  }
  comparison.designs = design::compare_grids(grids, machine, allowed);
  return comparison;
}

}  // namespace frostcal::choice
