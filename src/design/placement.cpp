#include "design/placement.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "errors/bug.hpp"
#include "errors/user_error.hpp"
#include "numerics/random_engine.hpp"
#include "shop/burn_time.hpp"

namespace frostcal::design {

namespace {

struct Cell {
  double x_mm = 0;
  double y_mm = 0;
};

bool overlaps(const Cell& cell, const Swatch& other, const PlacementOptions& options) {
  // An id may stand on any side of its swatch, so half a gap is kept clear.
  const double clear = options.gap_mm / 2;
  return std::abs(cell.x_mm - other.x_mm) < (options.swatch_mm + other.width_mm) / 2 + clear &&
         std::abs(cell.y_mm - other.y_mm) < (options.swatch_mm + other.height_mm) / 2 + clear;
}

// Cells of one area, centred in it, in rows round the bottle.
void add_cells(const shop::WallArea& area, const PlacementOptions& options, std::vector<Cell>& cells) {
  const double step = options.swatch_mm + options.gap_mm;
  const auto count = [&](double low, double high) {
    return std::max(0, static_cast<int>(std::floor((high - low + options.gap_mm) / step + 1e-9)));
  };
  const int along = count(area.x_low, area.x_high);
  const int round = count(area.y_low, area.y_high);
  const double x_start = (area.x_low + area.x_high) / 2 - step * (along - 1) / 2;
  const double y_start = (area.y_low + area.y_high) / 2 + step * (round - 1) / 2;
  for (int row = 0; row < round; ++row) {
    for (int place = 0; place < along; ++place)
      cells.push_back({x_start + step * place, y_start - step * row});
  }
}

std::vector<Cell> free_cells(const shop::Machine& machine, const shop::Vessel& vessel,
                             const PlacementOptions& options, const std::vector<Swatch>& taken) {
  std::vector<Cell> cells;
  for (const shop::WallArea& area : shop::free_areas(vessel, machine, options.margins)) {
    add_cells(area, options, cells);
  }
  cells.erase(std::remove_if(cells.begin(), cells.end(),
                             [&](const Cell& cell) {
                               return std::any_of(taken.begin(), taken.end(), [&](const Swatch& other) {
                                 return overlaps(cell, other, options);
                               });
                             }),
              cells.end());
  return cells;
}

// The `count` cells nearest the placing area's middle that keep whole rows together: the block that the eye
// and the focus like best.
std::vector<Cell> compact_block(std::vector<Cell> cells, std::size_t count) {
  std::stable_sort(cells.begin(), cells.end(), [](const Cell& a, const Cell& b) {
    return std::make_tuple(std::abs(a.y_mm), std::abs(a.x_mm)) <
           std::make_tuple(std::abs(b.y_mm), std::abs(b.x_mm));
  });
  if (cells.size() <= count) return cells;
  // Squarer than whole rows: take the cells in order of a norm that counts both directions alike.
  std::stable_sort(cells.begin(), cells.end(), [](const Cell& a, const Cell& b) {
    return std::max(std::abs(a.x_mm), std::abs(a.y_mm)) < std::max(std::abs(b.x_mm), std::abs(b.y_mm));
  });
  cells.resize(count);
  return cells;
}

using Recipe = std::tuple<double, double, int>;

struct Draft {
  PlannedSwatch planned;
  std::size_t bottle = 0;
  int burn = 0;
  Cell cell;
};

// Swatches sorted by dpi and dose are dealt round the bottles like cards, so each bottle gets its share of
// both.
std::vector<Draft> deal(const std::vector<PlannedSwatch>& planned, const std::vector<std::size_t>& room,
                        const shop::Machine& machine) {
  std::vector<Draft> drafts;
  for (const PlannedSwatch& swatch : planned) drafts.push_back({swatch, 0, 0, {}});
  std::stable_sort(drafts.begin(), drafts.end(), [&](const Draft& a, const Draft& b) {
    return std::make_tuple(a.planned.setting.dpi, shop::dose_j_mm2(a.planned.setting, machine)) <
           std::make_tuple(b.planned.setting.dpi, shop::dose_j_mm2(b.planned.setting, machine));
  });
  std::vector<std::size_t> used(room.size(), 0);
  std::size_t next = 0;
  for (Draft& draft : drafts) {
    while (used[next % room.size()] >= room[next % room.size()]) ++next;
    draft.bottle = next++ % room.size();
    ++used[draft.bottle];
  }
  return drafts;
}

void number_burns(std::vector<Draft>& drafts, int recipes_per_burn) {
  struct Open {
    int burn = 0;
    std::set<Recipe> recipes;
  };
  std::map<std::pair<std::size_t, int>, Open> open;
  std::stable_sort(drafts.begin(), drafts.end(), [](const Draft& a, const Draft& b) {
    return std::make_pair(a.bottle, a.planned.setting.dpi) < std::make_pair(b.bottle, b.planned.setting.dpi);
  });
  int burns = 0;
  for (Draft& draft : drafts) {
    const shop::Setting& setting = draft.planned.setting;
    Open& current = open[{draft.bottle, setting.dpi}];
    const Recipe recipe{setting.power_pct, setting.speed_pct, setting.passes};
    const bool full =
        current.recipes.count(recipe) == 0 && static_cast<int>(current.recipes.size()) >= recipes_per_burn;
    if (current.burn == 0 || full) current = {++burns, {}};
    current.recipes.insert(recipe);
    draft.burn = current.burn;
  }
}

// Sum over neighbouring pairs of the product of their doses, relative to the mean dose.
double neighbour_heat(const std::vector<Cell>& cells, const std::vector<double>& dose, double reach) {
  double sum = 0;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (std::abs(cells[i].x_mm - cells[j].x_mm) + std::abs(cells[i].y_mm - cells[j].y_mm) < reach) {
        sum += dose[i] * dose[j];
      }
    }
  }
  return sum;
}

// Random places for the drafts of one bottle.
void scatter(std::vector<Draft*>& drafts, std::vector<Cell> cells, const shop::Machine& machine,
             const PlacementOptions& options, numerics::RandomEngine& random) {
  std::vector<double> dose;
  for (const Draft* draft : drafts) dose.push_back(shop::dose_j_mm2(draft->planned.setting, machine));
  const double reach = (options.swatch_mm + options.gap_mm) * 1.05;
  std::vector<Cell> best;
  double least = 0;
  const int orders = drafts.size() > 200 ? 20 : 200;
  for (int order = 0; order < orders; ++order) {
    for (std::size_t i = cells.size(); i > 1; --i) std::swap(cells[i - 1], cells[random.below(i)]);
    const double heat = neighbour_heat(cells, dose, reach);
    if (best.empty() || heat < least) {
      best = cells;
      least = heat;
    }
  }
  for (std::size_t i = 0; i < drafts.size(); ++i) drafts[i]->cell = best[i];
}

std::string row_name(int row) {
  return std::string(1, static_cast<char>('A' + row));
}

// Ids in the order of bottle, row (from the top of the page) and place (from the neck).
void give_ids(std::vector<Swatch>& swatches, const std::vector<ScrapBottle>& bottles) {
  const auto order = [&](const Swatch& swatch) {
    std::size_t bottle = 0;
    while (bottles[bottle].name != swatch.bottle) ++bottle;
    return std::make_tuple(bottle, -std::round(swatch.y_mm * 10), swatch.x_mm);
  };
  std::sort(swatches.begin(), swatches.end(),
            [&](const Swatch& a, const Swatch& b) { return order(a) < order(b); });
  int rows = 0;
  for (std::size_t i = 0; i < swatches.size(); ++i) {
    const bool same = i > 0 && swatches[i].bottle == swatches[i - 1].bottle &&
                      std::abs(swatches[i].y_mm - swatches[i - 1].y_mm) < 0.05;
    if (i > 0 && !same) ++rows;
  }
  // More rows than letters: rows share letters and the places are counted on.
  const int rows_per_letter = rows / 26 + 1;
  int row = 0;
  int place = 0;
  for (std::size_t i = 0; i < swatches.size(); ++i) {
    const bool same = i > 0 && swatches[i].bottle == swatches[i - 1].bottle &&
                      std::abs(swatches[i].y_mm - swatches[i - 1].y_mm) < 0.05;
    if (i > 0 && !same && ++row % rows_per_letter == 0) place = 0;
    swatches[i].id = row_name(row / rows_per_letter) + std::to_string(++place);
  }
}

}  // namespace

int bottle_capacity(const shop::Machine& machine, const shop::Vessel& vessel, const PlacementOptions& options,
                    const std::vector<Swatch>& taken) {
  return static_cast<int>(free_cells(machine, vessel, options, taken).size());
}

std::vector<Swatch> place_swatches(const std::vector<PlannedSwatch>& planned,
                                   const std::vector<ScrapBottle>& bottles, const shop::Machine& machine,
                                   const shop::Vessel& vessel, const PlacementOptions& options) {
  FROSTCAL_ASSERT(!planned.empty() && !bottles.empty(), "a grid needs swatches and bottles");
  std::vector<std::vector<Cell>> cells;
  std::vector<std::size_t> room;
  std::size_t total = 0;
  for (const ScrapBottle& bottle : bottles) {
    cells.push_back(free_cells(machine, vessel, options, bottle.taken));
    room.push_back(cells.back().size());
    total += room.back();
  }
  if (total < planned.size()) {
    throw errors::UserError(errors::Fault{
        {"", 0, 0, "swatches"},
        std::to_string(planned.size()) + " swatches for " + std::to_string(bottles.size()) + " bottle(s)",
        "at most " + std::to_string(total) + " of " + std::to_string(static_cast<int>(options.swatch_mm)) +
            " mm on the panel of vessel " + vessel.name,
        "ask for fewer swatches, more bottles (--bottles) or a smaller --size"});
  }
  std::vector<Draft> drafts = deal(planned, room, machine);
  number_burns(drafts, machine.recipes_per_burn);
  numerics::RandomEngine random(options.seed);
  for (std::size_t b = 0; b < bottles.size(); ++b) {
    std::vector<Draft*> here;
    for (Draft& draft : drafts) {
      if (draft.bottle == b) here.push_back(&draft);
    }
    if (!here.empty()) scatter(here, compact_block(cells[b], here.size()), machine, options, random);
  }
  std::vector<Swatch> swatches;
  for (const Draft& draft : drafts) {
    Swatch swatch;
    swatch.bottle = bottles[draft.bottle].name;
    swatch.burn = draft.burn;
    swatch.x_mm = draft.cell.x_mm;
    swatch.y_mm = draft.cell.y_mm;
    swatch.width_mm = swatch.height_mm = options.swatch_mm;
    swatch.setting = draft.planned.setting;
    swatch.role = draft.planned.role;
    swatches.push_back(swatch);
  }
  give_ids(swatches, bottles);
  return swatches;
}

double burn_seconds(const Grid& grid, int burn, const shop::Machine& machine) {
  double seconds = 0;
  for (const Swatch& swatch : grid.swatches) {
    if (swatch.burn == burn) {
      seconds += shop::raster_time(swatch.width_mm, swatch.height_mm, swatch.setting, machine).seconds;
    }
  }
  return seconds;
}

double burn_seconds(const Grid& grid, const shop::Machine& machine) {
  double seconds = 0;
  for (int burn = 1; burn <= grid.burns(); ++burn) seconds += burn_seconds(grid, burn, machine);
  return seconds;
}

}  // namespace frostcal::design
