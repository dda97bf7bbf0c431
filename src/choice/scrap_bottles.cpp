#include "choice/scrap_bottles.hpp"

#include <algorithm>
#include <set>

#include "design/placement.hpp"
#include "sheet/shelved_bottle.hpp"
#include "sheet/standing_frame.hpp"

namespace frostcal::choice {

using design::ScrapBottle;

namespace {

// What is engraved on the bottles, as `machine` holds them.
void add_engraved(std::vector<ScrapBottle>& bottles, const shop::Shop& shop,
                  const surface::ShopEvidence& evidence, const shop::Machine& machine) {
  std::vector<std::string> names;
  for (const ScrapBottle& bottle : bottles) names.push_back(bottle.name);
  std::vector<design::Grid> earlier;
  for (const surface::GradedGrid& graded : evidence.grids) earlier.push_back(graded.grid);
  for (const sheet::ShelvedBottle& shelved : sheet::shelved_bottles(shop, names, earlier)) {
    const auto bottle = std::find_if(bottles.begin(), bottles.end(),
                                     [&](const ScrapBottle& one) { return one.name == shelved.name; });
    for (const sheet::StandingBox& box : shelved.engraved)
      bottle->engraved.push_back(sheet::wall_area(box, machine.rotary.neck));
  }
}

// Bottles of a glass and vessel that earlier grids burned on, in order of first use.
std::vector<ScrapBottle> shelf(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                               const std::string& glass, const std::string& vessel,
                               const shop::Machine& machine) {
  std::vector<ScrapBottle> bottles;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass != glass || graded.grid.vessel != vessel) continue;
    const bool turned =
        design::neck_side(graded.grid, shop.machine(graded.grid.machine)) != machine.rotary.neck;
    for (design::Swatch swatch : graded.grid.swatches) {
      if (turned) swatch.y_mm = -swatch.y_mm;
      auto found = std::find_if(bottles.begin(), bottles.end(),
                                [&](const ScrapBottle& bottle) { return bottle.name == swatch.bottle; });
      if (found == bottles.end()) {
        bottles.push_back({swatch.bottle, {}});
        found = bottles.end() - 1;
      }
      found->taken.push_back(swatch);
    }
  }
  return bottles;
}

std::string new_bottle_name(const surface::ShopEvidence& evidence, const shop::Glass& glass, int after) {
  std::set<std::string> names(glass.broken.begin(), glass.broken.end());
  for (const surface::GradedGrid& graded : evidence.grids) {
    for (const std::string& name : graded.grid.bottles()) names.insert(name);
  }
  int number = after + 1;
  while (names.count(glass.name + '-' + std::to_string(number)) != 0) ++number;
  return glass.name + '-' + std::to_string(number);
}

}  // namespace

std::vector<ScrapBottle> pick_bottles(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                                      const BottleRequest& request, const shop::Machine& machine,
                                      const shop::Vessel& vessel, int swatches,
                                      const design::PlacementOptions& placement) {
  const shop::Glass& glass = shop.glass(request.glass);
  std::vector<ScrapBottle> shelved = shelf(shop, evidence, request.glass, vessel.name, machine);
  const int fresh_room = design::bottle_capacity(machine, vessel, placement);
  int count = request.bottles;
  if (count == 0) count = fresh_room > 0 ? (swatches + fresh_room - 1) / fresh_room : 1;
  std::vector<ScrapBottle> picked;
  const bool enough_seen = static_cast<int>(shelved.size()) >= kBottlesWanted && !request.new_bottles;
  if (enough_seen) {
    add_engraved(shelved, shop, evidence, machine);
    std::stable_sort(shelved.begin(), shelved.end(), [&](const ScrapBottle& a, const ScrapBottle& b) {
      return a.taken.size() < b.taken.size();
    });
    const int share = (swatches + count - 1) / count;
    for (const ScrapBottle& bottle : shelved) {
      if (glass.is_broken(bottle.name)) continue;
      if (static_cast<int>(picked.size()) < count &&
          design::bottle_capacity(machine, vessel, placement, bottle) >= share) {
        picked.push_back(bottle);
      }
    }
  }
  int after = 0;
  while (static_cast<int>(picked.size()) < count) {
    const std::string name = new_bottle_name(evidence, glass, after);
    after = std::stoi(name.substr(name.rfind('-') + 1));
    picked.push_back({name, {}});
  }
  return picked;
}

}  // namespace frostcal::choice
