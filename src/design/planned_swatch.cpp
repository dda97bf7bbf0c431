#include "design/planned_swatch.hpp"

#include <algorithm>

namespace frostcal::design {

std::vector<PlannedSwatch> with_repeats_marked(const std::vector<shop::Setting>& settings) {
  std::vector<PlannedSwatch> planned;
  for (auto at = settings.begin(); at != settings.end(); ++at) {
    const bool seen = shop::find_setting(settings.begin(), at, *at) != at;
    planned.push_back({*at, seen ? Role::repeat : Role::design, kAnyBottle});
  }
  return planned;
}

}  // namespace frostcal::design
