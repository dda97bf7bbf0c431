#include "sheet/shelved_bottle.hpp"

#include <algorithm>
#include <map>
#include <set>

#include "design/grid_shop.hpp"

namespace frostcal::sheet {
namespace {

void bear(ShelvedBottle& bottle, const design::Grid& grid, const BurnPlan& plan, const BurnMarks& marks,
          const std::vector<StandingBox>& boxes) {
  for (const std::size_t index : plan.swatches) {
    const std::string& id = grid.swatches[index].id;
    bottle.places.push_back(boxes[index]);
    bottle.ids.push_back(engraved_id(grid, plan, id));
  }
  bottle.shapes.insert(bottle.shapes.end(), marks.shapes.begin(), marks.shapes.end());
  bottle.engraved.insert(bottle.engraved.end(), marks.boxes.begin(), marks.boxes.end());
  if (!plan.names_bottle) return;
  bottle.flag_placed = marks.flag_placed;
  bottle.centre = marks.centre;
}

}  // namespace

std::vector<ShelvedBottle> shelved_bottles(const shop::Shop& shop, const std::vector<std::string>& names,
                                           const std::vector<design::Grid>& earlier) {
  std::map<std::string, ShelvedBottle> borne;
  std::map<std::string, std::vector<StandingBox>> engraved;
  std::set<std::string> marked;
  for (const design::Grid& older : earlier) {
    const std::vector<std::string> bottles = older.bottles();
    if (std::none_of(bottles.begin(), bottles.end(), [&](const std::string& bottle) {
          return std::find(names.begin(), names.end(), bottle) != names.end();
        }))
      continue;
    // Each machine holds the neck on a side of its own; on the standing bottle their places compare.
    const shop::Machine machine = design::machine_as_planned(shop, older);
    const shop::Vessel& vessel = shop.vessel(older.vessel);
    std::vector<StandingBox> boxes;
    for (const design::Swatch& swatch : older.swatches)
      boxes.push_back(standing_box(swatch, machine, vessel));
    const std::vector<BurnPlan> plans = burns_of(older, marked);
    const std::vector<BurnMarks> marks =
        place_marks(older, plans, StandingFrame(machine, vessel), boxes, engraved);
    for (std::size_t i = 0; i < plans.size(); ++i)
      bear(borne[plans[i].bottle], older, plans[i], marks[i], boxes);
    for (std::size_t i = 0; i < boxes.size(); ++i) engraved[older.swatches[i].bottle].push_back(boxes[i]);
    marked.insert(bottles.begin(), bottles.end());
  }
  std::vector<ShelvedBottle> shelved;
  for (const std::string& name : names) {
    const auto found = borne.find(name);
    if (found == borne.end()) continue;
    found->second.name = name;
    shelved.push_back(std::move(found->second));
  }
  return shelved;
}

}  // namespace frostcal::sheet
