#include "design/placement.hpp"

#include <algorithm>
#include <cmath>

#include "design/bottle_share.hpp"
#include "design/place_order.hpp"
#include "design/swatch_ids.hpp"
#include "errors/bug.hpp"
#include "errors/user_error.hpp"
#include "numerics/random_engine.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::design {

namespace {

bool overlaps(const Place& place, const Swatch& other, const shop::Vessel& vessel,
              const PlacementOptions& options) {
  // An id may stand on any side of its swatch, so half a gap is kept clear.
  const double clear = options.gap_mm / 2;
  const double own = vessel.page_stretch(place.x_mm);
  const double others = vessel.page_stretch(other.x_mm);
  return std::abs(place.x_mm - other.x_mm) < (options.swatch_mm + other.width_mm) / 2 + clear &&
         std::abs(place.y_mm - other.y_mm) <
             (options.swatch_mm * own + other.height_mm * others) / 2 + clear * std::max(own, others);
}

bool overlaps(const Place& place, const shop::WallArea& mark, const shop::Vessel& vessel,
              const PlacementOptions& options) {
  const double x_clear = options.swatch_mm / 2 + kFromMarks;
  const double y_clear = options.swatch_mm / 2 * vessel.page_stretch(place.x_mm) + kFromMarks;
  return place.x_mm + x_clear > mark.x_low && place.x_mm - x_clear < mark.x_high &&
         place.y_mm + y_clear > mark.y_low && place.y_mm - y_clear < mark.y_high;
}

// Page millimetres for one of glass where swatches are drawn highest.
double row_stretch(const shop::WallArea& area, const shop::Vessel& vessel) {
  return std::max(vessel.page_stretch(area.x_low), vessel.page_stretch(area.x_high));
}

// Places of one area, centred in it, in rows round the bottle. Rows are straight, so on a taper the gap is
// right at the smallest diameter and wider elsewhere.
void add_places(const shop::WallArea& area, double stretch, const PlacementOptions& options,
                std::vector<Place>& places) {
  const double step = options.swatch_mm + options.gap_mm;
  const auto count = [&](double glass_mm) {
    return std::max(0, static_cast<int>(std::floor((glass_mm + options.gap_mm) / step + 1e-9)));
  };
  const int along = count(area.x_high - area.x_low);
  const int round = count((area.y_high - area.y_low) / stretch);
  const double x_start = (area.x_low + area.x_high) / 2 - step * (along - 1) / 2;
  const double y_start = (area.y_low + area.y_high) / 2 + step * stretch * (round - 1) / 2;
  for (int row = 0; row < round; ++row) {
    for (int column = 0; column < along; ++column)
      places.push_back({x_start + step * column, y_start - step * stretch * row});
  }
}

std::vector<Place> free_places(const shop::Machine& machine, const shop::Vessel& vessel,
                               const PlacementOptions& options, const ScrapBottle& bottle) {
  std::vector<Place> places;
  for (const shop::WallArea& area : shop::free_areas(vessel, machine, options.margins)) {
    add_places(area, row_stretch(area, vessel), options, places);
  }
  const auto covers_any = [&](const Place& place, const auto& borne) {
    return std::any_of(borne.begin(), borne.end(),
                       [&](const auto& one) { return overlaps(place, one, vessel, options); });
  };
  places.erase(std::remove_if(places.begin(), places.end(),
                              [&](const Place& place) {
                                return covers_any(place, bottle.taken) || covers_any(place, bottle.engraved);
                              }),
               places.end());
  return places;
}

std::string side_text(const PlacementOptions& options) {
  if (options.units == shop::LengthUnit::inch) return shop::length_text(options.swatch_mm, options.units);
  return textfile::format_number(options.swatch_mm) + " mm";
}

// The `count` places nearest the placing area's middle, in a norm that counts both directions alike: a square
// block, where the focus is best.
std::vector<Place> compact_block(std::vector<Place> places, std::size_t count) {
  std::stable_sort(places.begin(), places.end(), [](const Place& a, const Place& b) {
    return std::max(std::abs(a.x_mm), std::abs(a.y_mm)) < std::max(std::abs(b.x_mm), std::abs(b.y_mm));
  });
  if (places.size() > count) places.resize(count);
  return places;
}

}  // namespace

int bottle_capacity(const shop::Machine& machine, const shop::Vessel& vessel, const PlacementOptions& options,
                    const ScrapBottle& bottle) {
  return static_cast<int>(free_places(machine, vessel, options, bottle).size());
}

std::vector<Swatch> place_swatches(const std::vector<PlannedSwatch>& planned,
                                   const std::vector<ScrapBottle>& bottles, const shop::Machine& machine,
                                   const shop::Vessel& vessel, const PlacementOptions& options) {
  FROSTCAL_ASSERT(!planned.empty() && !bottles.empty(), "a grid needs swatches and bottles");
  std::vector<std::vector<Place>> free;
  std::vector<std::size_t> room;
  std::size_t total = 0;
  for (const ScrapBottle& bottle : bottles) {
    free.push_back(free_places(machine, vessel, options, bottle));
    room.push_back(free.back().size());
    total += room.back();
  }
  if (total == 0 && bottle_capacity(machine, vessel, options) == 0) {
    PlacementOptions smallest = options;
    smallest.swatch_mm = std::min(options.swatch_mm, kLeastSwatch);
    if (bottle_capacity(machine, vessel, smallest) == 0) {
      throw errors::UserError(errors::Fault{
          {"", 0, 0, "vessel"},
          errors::quoted(vessel.name) + ", whose panel has no place for a swatch of " + side_text(smallest),
          "a panel with room beside its margins: " +
              shop::length_text(options.margins.edge_mm, options.units) + " at both ends, " +
              shop::length_text(options.margins.marks_mm, options.units) + " for marks at the neck, " +
              shop::length_text(options.margins.seam_mm, options.units) + " on either side of a seam",
          "burn on another vessel (--vessel), or correct panel_mm, diameter_mm or seams in shop.toml"});
    }
    throw errors::UserError(
        errors::Fault{{"", 0, 0, "--size"},
                      side_text(options) + ", which leaves no place on the panel of vessel " + vessel.name,
                      "a side that fits between its seams and within its panel",
                      "ask for a smaller --size"});
  }
  if (total < planned.size()) {
    throw errors::UserError(
        errors::Fault{{"", 0, 0, "swatches"},
                      textfile::counted(static_cast<int>(planned.size()), "swatch", "swatches") + " for " +
                          textfile::counted(static_cast<int>(bottles.size()), "bottle", "bottles"),
                      "at most " + std::to_string(total) + " of " + side_text(options) +
                          " on the panel of vessel " + vessel.name,
                      "ask for fewer swatches, more bottles (--bottles) or a smaller --size"});
  }
  numerics::RandomEngine random(options.seed);
  const std::vector<BottleShare> shares = share_out(planned, room, machine, random);
  const double reach = (options.swatch_mm + options.gap_mm) * 1.05;
  // Places are chosen among by their steps, which on a taper are longer round the bottle.
  const double stretch = row_stretch(shop::free_areas(vessel, machine, options.margins).front(), vessel);
  for (std::vector<Place>& places : free) {
    for (Place& place : places) place.y_mm /= stretch;
  }
  std::vector<Swatch> swatches;
  for (std::size_t b = 0; b < bottles.size(); ++b) {
    std::vector<shop::Setting> settings;
    for (const BottleShare& share : shares) {
      if (share.bottle == b) settings.push_back(planned[share.planned].setting);
    }
    if (settings.empty()) continue;
    const std::vector<Place> places =
        scattered(settings, compact_block(free[b], settings.size()), machine, reach, random);
    std::size_t next = 0;
    for (const BottleShare& share : shares) {
      if (share.bottle != b) continue;
      const Place& place = places[next++];
      const PlannedSwatch& from = planned[share.planned];
      swatches.push_back({"", bottles[b].name, share.burn, place.x_mm, place.y_mm * stretch,
                          options.swatch_mm, options.swatch_mm, from.setting, from.role});
    }
  }
  give_ids(swatches, bottles);
  return swatches;
}

}  // namespace frostcal::design
