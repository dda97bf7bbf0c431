#include "choice/reference_swatch.hpp"

#include <algorithm>

#include "choice/power_information.hpp"
#include "design/dial_region.hpp"
#include "surface/physical_setting.hpp"

namespace frostcal::choice {

namespace {

// A reference is not put where more than half of the bottles would chip beyond the bar.
constexpr double kMildEnough = 0.5;
// An earlier place is kept, for comparison's sake, while it tells this share of the most telling one.
constexpr double kStillTelling = 0.5;

struct EarlierSwatch {
  shop::Setting setting;
  std::string swatch;
  std::string grid;
};

std::optional<EarlierSwatch> latest_reference(const surface::ShopEvidence& evidence, const std::string& glass,
                                              const shop::Machine& machine) {
  for (auto graded = evidence.grids.rbegin(); graded != evidence.grids.rend(); ++graded) {
    const design::Grid& grid = graded->grid;
    if (grid.glass != glass || grid.machine != machine.name) continue;
    const design::Swatch* reference = design::reference_swatch(grid);
    if (reference != nullptr && shop::accepts(machine, reference->setting)) {
      return EarlierSwatch{reference->setting, reference->id, grid.id};
    }
  }
  return std::nullopt;
}

std::vector<EarlierSwatch> graded_swatches(const surface::ShopEvidence& evidence, const std::string& glass,
                                           const shop::Machine& machine) {
  std::vector<EarlierSwatch> found;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass != glass || graded.grid.machine != machine.name) continue;
    for (const design::Swatch& swatch : graded.grid.swatches) {
      const bool seen =
          std::any_of(graded.graded.begin(), graded.graded.end(),
                      [&](const grades::SwatchGrade& grade) { return grade.swatch == swatch.id; });
      if (seen && shop::accepts(machine, swatch.setting))
        found.push_back({swatch.setting, swatch.id, graded.grid.id});
    }
  }
  return found;
}

// The swatch to repeat in place of the earlier reference, if any; nothing: none is worth it.
std::optional<EarlierSwatch> more_telling(const surface::ShopEvidence& evidence,
                                          const surface::ShopSurface& surfaces, const std::string& glass,
                                          const shop::Machine& machine,
                                          const std::optional<EarlierSwatch>& reference) {
  const std::vector<EarlierSwatch> burned = graded_swatches(evidence, glass, machine);
  if (burned.empty()) return std::nullopt;
  const surface::GlassSurface& surface = surfaces.glass(surface::surface_name(glass, machine.name));
  const auto told = [&](const EarlierSwatch& one) {
    return power_information(surface, surface::physical_setting(one.setting, machine));
  };
  std::optional<EarlierSwatch> best;
  double most = reference ? told(*reference) / kStillTelling : 0;
  for (const EarlierSwatch& one : burned) {
    const double telling = told(one);
    if (!(telling > most)) continue;
    if (surface.chance_parts(surface::physical_setting(one.setting, machine)).chipping < kMildEnough)
      continue;
    most = telling;
    best = one;
  }
  return best;
}

// The burnable setting nearest the middle of the ranges, in coded logs; the first of equals.
std::optional<shop::Setting> middle(const shop::Machine& machine, const shop::Machine& allowed) {
  constexpr int kLevels = 41;  // odd, so that the middle is one of them
  const design::DialRegion region(machine, allowed);
  const std::vector<shop::Setting> settings = region.lattice(kLevels);
  const auto nearest =
      std::min_element(settings.begin(), settings.end(), [&](const shop::Setting& a, const shop::Setting& b) {
        return region.code(a).squaredNorm() < region.code(b).squaredNorm();
      });
  return nearest == settings.end() ? std::nullopt : std::optional<shop::Setting>(*nearest);
}

}  // namespace

std::optional<ReferenceSwatch> reference_swatch(const surface::ShopEvidence& evidence,
                                                const surface::ShopSurface& surfaces,
                                                const std::string& glass, const shop::Machine& machine,
                                                const shop::Machine& allowed,
                                                const std::optional<shop::Setting>& in_force) {
  const auto made = [](const shop::Setting& setting, const std::string& reason) {
    return ReferenceSwatch{{setting, design::Role::reference, design::kAnyBottle}, reason};
  };
  const auto earlier = latest_reference(evidence, glass, machine);
  if (const auto telling = more_telling(evidence, surfaces, glass, machine, earlier)) {
    return made(telling->setting,
                "as " + telling->swatch + " of grid " + telling->grid + ", where a little less power shows");
  }
  if (earlier) return made(earlier->setting, "as in grid " + earlier->grid);
  if (in_force && shop::accepts(machine, *in_force)) return made(*in_force, "at the setting in force");
  const std::optional<shop::Setting> setting = middle(machine, allowed);
  if (!setting) return std::nullopt;
  return made(*setting, "at the middle of the ranges, for want of a setting in force");
}

}  // namespace frostcal::choice
