#include "choice/sheet_options.hpp"

#include <functional>

#include "surface/physical_setting.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::choice {

namespace {

std::function<double(const shop::Setting&)> readable_mark(const shop::Shop& shop, const design::Grid& grid,
                                                          const surface::ShopEvidence& evidence) {
  constexpr int kReadable = 2;  // "patchy" can still be read
  constexpr int kRoughly = 6;   // prior scales averaged over: a recipe is to be found, no chance promised
  std::vector<surface::Observation> seen;
  for (const surface::GradedGrid& earlier : evidence.grids) {
    if (earlier.grid.number >= grid.number || earlier.grid.glass != grid.glass ||
        earlier.grid.machine != grid.machine)
      continue;
    const std::vector<surface::Observation> of_grid = surface::observations_of(shop, earlier);
    seen.insert(seen.end(), of_grid.begin(), of_grid.end());
  }
  if (seen.empty()) return {};
  surface::FitOptions options = surface::shop_fit_options(shop, seen);
  options.scale_settings = kRoughly;
  const surface::ShopSurface surfaces = surface::fit_shop(seen, options);
  const std::string name = surface::surface_name(grid.glass, grid.machine);
  return [surfaces, name, machine = shop.machine(grid.machine)](const shop::Setting& setting) {
    const auto frost =
        surfaces.glass(name).grade_probabilities(surface::physical_setting(setting, machine)).frost;
    double readable = 0;
    for (std::size_t grade = kReadable; grade < frost.size(); ++grade) readable += frost[grade];
    return readable;
  };
}

}  // namespace

sheet::SheetOptions sheet_options(const shop::Shop& shop, const design::Grid& grid,
                                  const surface::ShopEvidence& evidence) {
  sheet::SheetOptions options;
  for (const surface::GradedGrid& graded : evidence.grids)
    if (graded.grid.number < grid.number) options.earlier.push_back(graded.grid);
  options.readable = readable_mark(shop, grid, evidence);
  return options;
}

}  // namespace frostcal::choice
