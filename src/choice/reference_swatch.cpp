#include "choice/reference_swatch.hpp"

#include <algorithm>

#include "design/dial_region.hpp"

namespace frostcal::choice {

namespace {

struct EarlierReference {
  shop::Setting setting;
  std::string grid;
};

std::optional<EarlierReference> latest_reference(const surface::ShopEvidence& evidence,
                                                 const std::string& glass, const shop::Machine& machine) {
  for (auto graded = evidence.grids.rbegin(); graded != evidence.grids.rend(); ++graded) {
    const design::Grid& grid = graded->grid;
    if (grid.glass != glass || grid.machine != machine.name) continue;
    const design::Swatch* reference = design::reference_swatch(grid);
    if (reference != nullptr && shop::accepts(machine, reference->setting)) {
      return EarlierReference{reference->setting, grid.id};
    }
  }
  return std::nullopt;
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
                                                const std::string& glass, const shop::Machine& machine,
                                                const shop::Machine& allowed,
                                                const std::optional<shop::Setting>& in_force) {
  const auto made = [](const shop::Setting& setting, const std::string& reason) {
    return ReferenceSwatch{{setting, design::Role::reference, design::kAnyBottle}, reason};
  };
  if (const auto earlier = latest_reference(evidence, glass, machine)) {
    return made(earlier->setting, "as in grid " + earlier->grid);
  }
  if (in_force && shop::accepts(machine, *in_force)) return made(*in_force, "at the setting in force");
  const std::optional<shop::Setting> setting = middle(machine, allowed);
  if (!setting) return std::nullopt;
  return made(*setting, "at the middle of the ranges, for want of a setting in force");
}

}  // namespace frostcal::choice
