#include "design/grid.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <utility>

#include "textfile/number_text.hpp"

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

PlannedFor planned_for(const shop::Machine& machine, const shop::Vessel& vessel) {
  return {machine.name,    machine.delivered_power_w(100), machine.top_speed_mm_s,
          machine.spot_mm, vessel.diameter_mm(0),          machine.rotary.neck};
}

shop::Side neck_side(const Grid& grid, const shop::Machine& machine) {
  const bool as_planned = grid.planned_for && grid.planned_for->machine == grid.machine;
  return as_planned ? grid.planned_for->neck.value_or(machine.rotary.neck) : machine.rotary.neck;
}

std::vector<ChangedFigure> changes_since(const Grid& grid, const shop::Shop& shop) {
  const shop::Machine* machine = shop.find_machine(grid.machine);
  const shop::Vessel* vessel = shop.find_vessel(grid.vessel);
  std::vector<ChangedFigure> changes;
  if (!grid.planned_for || grid.planned_for->machine != grid.machine || machine == nullptr ||
      vessel == nullptr)
    return changes;
  const PlannedFor now = planned_for(*machine, *vessel);
  const auto compare = [&](const std::string& of, const std::string& what, double then, double today,
                           const std::string& unit) {
    constexpr double kAlike = 1e-3;  // the file rounds
    if (std::abs(then - today) <= kAlike * today) return;
    changes.push_back({of, what + ' ' + textfile::format_number(then) + ' ' + unit + ", now " +
                               textfile::format_number(today) + ' ' + unit});
  };
  compare(machine->name, "full power", grid.planned_for->full_power_w, now.full_power_w, "W");
  compare(machine->name, "top speed", grid.planned_for->top_speed_mm_s, now.top_speed_mm_s, "mm/s");
  compare(machine->name, "spot", grid.planned_for->spot_mm, now.spot_mm, "mm");
  compare(vessel->name, "diameter at the panel's centre", grid.planned_for->diameter_mm, now.diameter_mm,
          "mm");
  return changes;
}

const Swatch* overlapping(const Grid& grid, const Grid& other) {
  if (grid.machine != other.machine || grid.vessel != other.vessel) return nullptr;
  const auto side = [](const Grid& one) {
    return one.planned_for ? one.planned_for->neck : std::optional<shop::Side>();
  };
  const bool turned = side(grid) && side(other) && side(grid) != side(other);
  const auto overlap = [turned](const Swatch& a, const Swatch& b) {
    const double y = turned ? -b.y_mm : b.y_mm;
    return a.bottle == b.bottle && std::abs(a.x_mm - b.x_mm) < 0.5 * (a.width_mm + b.width_mm) &&
           std::abs(a.y_mm - y) < 0.5 * (a.height_mm + b.height_mm);
  };
  for (const Swatch& swatch : grid.swatches) {
    for (const Swatch& taken : other.swatches) {
      if (overlap(swatch, taken)) return &swatch;
    }
  }
  return nullptr;
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
