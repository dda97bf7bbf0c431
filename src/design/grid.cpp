#include "design/grid.hpp"

#include <algorithm>
#include <numeric>
#include <set>
#include <utility>

namespace frostcal::design {

std::string to_text(Role role) {
  switch (role) {
    case Role::design:
      return "design";
    case Role::repeat:
      return "repeat";
    case Role::confirm:
      return "confirm";
    case Role::reference:
      return "reference";
  }
  return "";
}

const Swatch* Grid::find(const std::string& swatch_id) const {
  const auto found = std::find_if(swatches.begin(), swatches.end(),
                                  [&](const Swatch& swatch) { return swatch.id == swatch_id; });
  return found == swatches.end() ? nullptr : &*found;
}

int Grid::burns() const {
  std::set<int> numbers;
  for (const Swatch& swatch : swatches) numbers.insert(swatch.burn);
  return static_cast<int>(numbers.size());
}

std::vector<std::string> Grid::bottles() const {
  std::vector<std::string> names;
  for (const Swatch& swatch : swatches) {
    if (std::find(names.begin(), names.end(), swatch.bottle) == names.end()) names.push_back(swatch.bottle);
  }
  return names;
}

int Grid::recipes() const {
  std::set<std::pair<int, shop::Recipe>> typed;
  for (const Swatch& swatch : swatches) typed.insert({swatch.burn, shop::recipe_of(swatch.setting)});
  return static_cast<int>(typed.size());
}

const Swatch* reference_swatch(const Grid& grid) {
  const auto found = std::find_if(grid.swatches.begin(), grid.swatches.end(),
                                  [](const Swatch& swatch) { return swatch.role == Role::reference; });
  return found == grid.swatches.end() ? nullptr : &*found;
}

std::vector<std::size_t> grading_order(const Grid& grid) {
  std::vector<std::size_t> order(grid.swatches.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_partition(order.begin(), order.end(),
                        [&](std::size_t index) { return grid.swatches[index].role == Role::reference; });
  return order;
}

}  // namespace frostcal::design
