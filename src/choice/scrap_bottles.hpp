// Which bottles a grid is burned on.
#pragma once

#include <string>
#include <vector>

#include "design/placement.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"

namespace frostcal::choice {

/// A glass is burned on this many bottles before free places on old ones are used: the spread between bottles
/// has to be seen, and a bottle is cheap against a wrong setting.
inline constexpr int kBottlesWanted = 3;

struct BottleRequest {
  std::string glass;
  int bottles = 0;           // how many; 0 = as few as hold the swatches
  bool new_bottles = false;  // even where shelved ones have room
};

/// New bottles until the glass has been burned on kBottlesWanted, then the shelved ones with most room as far
/// as they have room for an equal share of the swatches. New names follow those that earlier grids used.
/// None is taken that shop.toml calls broken, though it counts as one that the glass was burned on.
/// What is taken on a shelved one is where `machine` will have it: another machine may hold the neck on the
/// other side.
std::vector<design::ScrapBottle> pick_bottles(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                                              const BottleRequest& request, const shop::Machine& machine,
                                              const shop::Vessel& vessel, int swatches,
                                              const design::PlacementOptions& placement);

}  // namespace frostcal::choice
