#include "design/grid_shop.hpp"

#include <vector>

#include "design/grid_file.hpp"
#include "errors/user_error.hpp"
#include "textfile/open_file.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::design {

namespace {

template <typename Thing>
const Thing& named(const std::vector<Thing>& things, const std::string& name, const std::string& field,
                   const shop::Shop& shop, const Grid& grid) {
  std::vector<std::string> known;
  for (const Thing& thing : things) {
    if (thing.name == name) return thing;
    known.push_back(thing.name);
  }
  const std::string near = errors::nearest(name, known);
  throw errors::UserError(
      errors::Fault{{textfile::shown(grid_files(shop, grid.id).grid_toml), 0, 0, field},
                    errors::quoted(name),
                    "a " + field + " of grids/shop.toml: " + textfile::joined(known),
                    (near.empty() ? "" : "was it renamed to " + near + "? ") +
                        std::string("keep the name in shop.toml that the grid was planned "
                                    "with")});
}

}  // namespace

const shop::Machine& machine_of(const shop::Shop& shop, const Grid& grid) {
  return named(shop.machines, grid.machine, "machine", shop, grid);
}

shop::Machine machine_as_planned(const shop::Shop& shop, const Grid& grid) {
  shop::Machine machine = machine_of(shop, grid);
  machine.rotary.neck = neck_side(grid, machine);
  return machine;
}

const shop::Vessel& vessel_of(const shop::Shop& shop, const Grid& grid) {
  return named(shop.vessels, grid.vessel, "vessel", shop, grid);
}

}  // namespace frostcal::design
