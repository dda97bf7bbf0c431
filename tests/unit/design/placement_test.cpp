#include "design/placement.hpp"

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>

#include <cmath>
#include <map>
#include <set>
#include <utility>
#include "support/exact_setting.hpp"

#include "errors/user_error.hpp"
#include "numerics/random_engine.hpp"
#include "unit/design/bench_machine.hpp"

using namespace frostcal;
using namespace frostcal::design;
using Catch::Matchers::Contains;
using frostcal::design::test::bench;

namespace {

constexpr double kPi = 3.14159265358979323846;

const shop::Vessel kJug{"tall-jug", 88, 88, 95, 2};

// n different settings over a few dpi, doses of all sizes.
std::vector<PlannedSwatch> some_swatches(int n, const std::vector<int>& dpi = {250, 400}) {
  std::vector<PlannedSwatch> planned;
  for (int i = 0; i < n; ++i) {
    shop::Setting setting;
    setting.power_pct = 20 + (i * 7) % 80;
    setting.speed_pct = 10 + (i * 13) % 60;
    setting.dpi = dpi[static_cast<std::size_t>(i) % dpi.size()];
    setting.screen = "stucki";
    planned.push_back({setting, Role::design, kAnyBottle});
  }
  return planned;
}

bool same_place(const Swatch& a, const Swatch& b) {
  return a.id == b.id && a.bottle == b.bottle && a.burn == b.burn && a.x_mm == b.x_mm && a.y_mm == b.y_mm &&
         shop::same_setting(a.setting, b.setting);
}

// Distance round the girth from y to the nearest mould seam; y = 0 lies midway between two seams.
double seam_distance(double y, const shop::Vessel& vessel, double girth) {
  const double space = girth / vessel.seams;
  const double from_seam = std::fmod(y + space / 2 + 8 * space, space);
  return std::min(from_seam, space - from_seam);
}

// The page is by angle: where the wall is d wide, a millimetre of it round the bottle is d / d0 mm of glass,
// and a swatch is drawn as much higher or lower by the diameter at its middle.
void check_places(const std::vector<Swatch>& swatches, const shop::Vessel& vessel,
                  const shop::Machine& machine, const PlacementOptions& options) {
  const double d0 = vessel.diameter_mm(0);
  const double girth = kPi * d0;
  const double half_length = std::min(vessel.panel_mm, machine.rotary.max_length_mm) / 2;
  const auto half_height = [&](const Swatch& one) {
    return one.height_mm / 2 * d0 / vessel.diameter_mm(one.x_mm);
  };
  const auto narrowest = [&](const Swatch& one) {
    return std::min(vessel.diameter_mm(one.x_mm - one.width_mm / 2),
                    vessel.diameter_mm(one.x_mm + one.width_mm / 2));
  };
  int outside = 0;
  int on_a_seam = 0;
  int too_near = 0;
  for (std::size_t i = 0; i < swatches.size(); ++i) {
    const Swatch& one = swatches[i];
    if (one.x_mm - one.width_mm / 2 < -half_length - 1e-9 || one.x_mm + one.width_mm / 2 > half_length + 1e-9)
      ++outside;
    if (std::abs(one.y_mm) + half_height(one) > girth / 2 + 1e-9) ++outside;  // of the page
    if (vessel.seams > 0) {
      const double clear = seam_distance(one.y_mm, vessel, girth) - half_height(one);
      if (clear * narrowest(one) / d0 < options.margins.seam_mm - 1e-6) ++on_a_seam;
    }
    for (std::size_t j = 0; j < i; ++j) {
      const Swatch& other = swatches[j];
      if (one.bottle != other.bottle) continue;
      const double gap_x = std::abs(one.x_mm - other.x_mm) - (one.width_mm + other.width_mm) / 2;
      const double turn = std::abs(one.y_mm - other.y_mm);
      // The wall closes on itself.
      const double gap_page = std::min(turn, girth - turn) - half_height(one) - half_height(other);
      const double gap_y = gap_page * std::min(narrowest(one), narrowest(other)) / d0;
      const double need = std::min(options.gap_mm, 2 * options.margins.edge_mm) - 1e-6;
      if (gap_x < need && gap_y < need) ++too_near;
    }
  }
  CHECK(outside == 0);
  CHECK(on_a_seam == 0);
  CHECK(too_near == 0);
}

void check_burns_and_ids(const std::vector<Swatch>& swatches, const shop::Machine& machine) {
  std::set<std::string> ids;
  std::map<int, std::pair<std::string, int>> burn_is;
  std::map<int, std::set<std::pair<double, double>>> recipes;
  for (const Swatch& one : swatches) {
    CHECK(ids.insert(one.id).second);
    const auto [seen, is_new] = burn_is.insert({one.burn, {one.bottle, one.setting.dpi}});
    if (!is_new) CHECK(seen->second == std::make_pair(one.bottle, one.setting.dpi));
    recipes[one.burn].insert({one.setting.power_pct, one.setting.speed_pct});
  }
  for (const auto& [burn, typed] : recipes) CHECK(static_cast<int>(typed.size()) <= machine.recipes_per_burn);
  CHECK(burn_is.begin()->first == 1);
  CHECK(burn_is.rbegin()->first == static_cast<int>(burn_is.size()));
}

double mean_of(const std::vector<double>& values) {
  double sum = 0;
  for (const double value : values) sum += value;
  return sum / static_cast<double>(values.size());
}

double correlation(const std::vector<double>& a, const std::vector<double>& b) {
  double both = 0;
  double a_alone = 0;
  double b_alone = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    both += (a[i] - mean_of(a)) * (b[i] - mean_of(b));
    a_alone += std::pow(a[i] - mean_of(a), 2);
    b_alone += std::pow(b[i] - mean_of(b), 2);
  }
  return a_alone > 1e-12 && b_alone > 1e-12 ? both / std::sqrt(a_alone * b_alone) : 0.0;
}

using Columns = std::map<std::string, std::vector<double>>;

// Of the swatches on one bottle, or on all when it has no name.
Columns factors_on(const std::vector<Swatch>& swatches, const std::string& bottle,
                   const shop::Machine& machine) {
  Columns factors;
  for (const Swatch& one : swatches) {
    if (!bottle.empty() && one.bottle != bottle) continue;
    factors["power"].push_back(std::log(one.setting.power_pct));
    factors["speed"].push_back(std::log(one.setting.speed_pct));
    factors["dpi"].push_back(std::log(one.setting.dpi));
    factors["dose"].push_back(std::log(shop::dose_j_mm2(one.setting, machine)));
  }
  return factors;
}

bool are_neighbours(const Swatch& a, const Swatch& b) {
  return a.bottle == b.bottle && a.id != b.id &&
         std::abs(a.x_mm - b.x_mm) + std::abs(a.y_mm - b.y_mm) < a.width_mm + 4.5;
}

Columns places_on(const std::vector<Swatch>& swatches, const std::string& bottle) {
  Columns places;
  for (const Swatch& one : swatches) {
    if (one.bottle != bottle) continue;
    places["along"].push_back(one.x_mm);
    places["round"].push_back(one.y_mm);
    places["neighbours"].push_back(static_cast<double>(std::count_if(
        swatches.begin(), swatches.end(), [&](const Swatch& b) { return are_neighbours(one, b); })));
  }
  const double x = mean_of(places["along"]);
  const double y = mean_of(places["round"]);
  for (std::size_t i = 0; i < places["along"].size(); ++i)
    places["outwards"].push_back(
        std::max(std::abs(places["along"][i] - x), std::abs(places["round"][i] - y)));
  return places;
}

// Pairs of neighbours that are both among the hottest third.
double hot_pairs(const std::vector<Swatch>& swatches, const shop::Machine& machine) {
  std::vector<double> doses;
  for (const Swatch& one : swatches) doses.push_back(shop::dose_j_mm2(one.setting, machine));
  std::sort(doses.begin(), doses.end());
  const double hot = doses[doses.size() - doses.size() / 3];
  double pairs = 0;
  for (const Swatch& a : swatches) {
    for (const Swatch& b : swatches) {
      if (are_neighbours(a, b) && shop::dose_j_mm2(a.setting, machine) >= hot &&
          shop::dose_j_mm2(b.setting, machine) >= hot)
        pairs += 0.5;
    }
  }
  return pairs;
}

}  // namespace

TEST_CASE("swatches lie inside the panel, apart, and clear of seams on any vessel", "[design][placement]") {
  numerics::RandomEngine random(11);
  int placed = 0;
  for (int trial = 0; trial < 300; ++trial) {
    shop::Machine machine = bench();
    machine.rotary.max_length_mm = 40 + 260 * random.uniform();
    machine.recipes_per_burn = 1 + static_cast<int>(random.below(20));
    shop::Vessel vessel{"any", 0, 0, 30 + 150 * random.uniform(), static_cast<int>(random.below(5))};
    vessel.diameter_at_neck_mm = 30 + 80 * random.uniform();
    vessel.diameter_at_base_mm =
        vessel.diameter_at_neck_mm * std::array{1.0, 1.15, 3.0, 0.4}[random.below(4)];
    PlacementOptions options;
    options.swatch_mm = 4 + 10 * random.uniform();
    options.gap_mm = 2 + 4 * random.uniform();
    options.seed = random.next();
    const int capacity = bottle_capacity(machine, vessel, options);
    if (capacity == 0) continue;
    const int bottles = 1 + static_cast<int>(random.below(3));
    std::vector<ScrapBottle> shelf;
    for (int b = 0; b < bottles; ++b) shelf.push_back({"jug-" + std::to_string(b + 1), {}});
    const int n = 1 + static_cast<int>(random.below(static_cast<std::uint64_t>(capacity * bottles)));
    CAPTURE(trial, n, capacity, bottles, vessel.seams, options.swatch_mm);
    const auto swatches = place_swatches(some_swatches(n, {200, 300, 600}), shelf, machine, vessel, options);
    REQUIRE(static_cast<int>(swatches.size()) == n);
    check_places(swatches, vessel, machine, options);
    check_burns_and_ids(swatches, machine);
    ++placed;
  }
  CHECK(placed > 200);
}

TEST_CASE("a grid that does not fit says how many swatches would", "[design][placement]") {
  const shop::Machine machine = bench();
  const PlacementOptions options;
  const int capacity = bottle_capacity(machine, kJug, options);
  // 276.5 mm round in two halves less 3 mm at each seam: 11 rows in front; behind, where the page ends, two
  // parts of 5 rows; 95 mm along less 2 + 2 + 8 mm: 7 places.
  CHECK(capacity == 147);
  CHECK_THROWS_WITH(
      place_swatches(some_swatches(capacity + 1), {{"amber-jug-1", {}}}, machine, kJug, options),
      Contains("148 swatches for 1 bottle") && Contains("at most 147 of 8 mm") && Contains("--bottles"));
  CHECK_NOTHROW(place_swatches(some_swatches(capacity), {{"amber-jug-1", {}}}, machine, kJug, options));
  PlacementOptions large;
  large.swatch_mm = 400;
  CHECK_THROWS_WITH(place_swatches(some_swatches(1), {{"amber-jug-1", {}}}, machine, kJug, large),
                    Contains("--size: found 400 mm, which leaves no place") && !Contains("fewer swatches"));
  large.units = shop::LengthUnit::inch;
  CHECK_THROWS_WITH(place_swatches(some_swatches(1), {{"amber-jug-1", {}}}, machine, kJug, large),
                    Contains("--size: found 15.75 in, which leaves no place"));
  // Where no size would do, none is asked for: 2 + 2 + 8 mm of margins, or seams on a thin neck.
  for (const shop::Vessel& vessel :
       {shop::Vessel{"low", 88, 88, 12, 2}, shop::Vessel{"thin", 20, 20, 95, 12}})
    for (const double side : {2.0, 8.0}) {
      PlacementOptions small;
      small.swatch_mm = side;
      CHECK_THROWS_WITH(
          place_swatches(some_swatches(1), {{"jug-1", {}}}, machine, vessel, small),
          Contains("vessel: found \"" + vessel.name + "\", whose panel has no place for a swatch of 2 mm") &&
              Contains("8.0 mm for marks at the neck") && !Contains("--size"));
    }
}

TEST_CASE("the same seed gives the same places and another seed others", "[design][placement]") {
  PlacementOptions options;
  options.seed = 5;
  const std::vector<ScrapBottle> bottles{{"jug-1", {}}, {"jug-2", {}}};
  const auto first = place_swatches(some_swatches(24), bottles, bench(), kJug, options);
  const auto again = place_swatches(some_swatches(24), bottles, bench(), kJug, options);
  CHECK(std::equal(first.begin(), first.end(), again.begin(), again.end(), same_place));
  options.seed = 6;
  const auto other = place_swatches(some_swatches(24), bottles, bench(), kJug, options);
  CHECK_FALSE(std::equal(first.begin(), first.end(), other.begin(), other.end(), same_place));
}

TEST_CASE("swatches come in the order in which the eye meets them", "[design][placement]") {
  const auto swatches =
      place_swatches(some_swatches(20), {{"jug-1", {}}, {"jug-2", {}}}, bench(), kJug, PlacementOptions{});
  for (std::size_t i = 1; i < swatches.size(); ++i) {
    const Swatch& a = swatches[i - 1];
    const Swatch& b = swatches[i];
    if (a.bottle != b.bottle) {
      CHECK(a.bottle < b.bottle);
    } else if (std::abs(a.y_mm - b.y_mm) < 0.01) {
      CHECK(a.x_mm < b.x_mm);
      CHECK(a.id[0] == b.id[0]);
    } else {
      CHECK(a.y_mm > b.y_mm);
      CHECK(a.id[0] < b.id[0]);
    }
  }
}

TEST_CASE("bottles share dpi and dose alike, and repeats lie on different bottles", "[design][placement]") {
  std::vector<PlannedSwatch> planned = some_swatches(24);
  PlannedSwatch repeat = planned[7];
  repeat.role = Role::repeat;
  planned.push_back(repeat);
  planned.push_back(repeat);
  const shop::Machine machine = bench();
  double lower_share = 0;
  int together = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    PlacementOptions options;
    options.seed = seed;
    const auto swatches = place_swatches(planned, {{"jug-1", {}}, {"jug-2", {}}}, machine, kJug, options);
    double dose_1 = 0;
    double dose_2 = 0;
    int count_1 = 0;
    int repeats_1 = 0;
    for (const Swatch& one : swatches) {
      const double log_dose = std::log(shop::dose_j_mm2(one.setting, machine));
      (one.bottle == "jug-1" ? dose_1 : dose_2) += log_dose;
      if (one.bottle == "jug-1") ++count_1;
      if (one.bottle == "jug-1" && shop::same_setting(one.setting, repeat.setting)) ++repeats_1;
    }
    CHECK(count_1 == 13);
    CHECK(std::abs(dose_1 - dose_2) / 13 < 0.25);
    if (repeats_1 == 0 || repeats_1 == 3) ++together;
    lower_share += dose_1 < dose_2 ? 1.0 / 60 : 0.0;
  }
  CHECK(together == 0);
  // Neither bottle is always the milder one.
  CHECK(lower_share > 0.2);
  CHECK(lower_share < 0.8);
}

TEST_CASE("a dpi with more recipes than one burn takes is cut into like burns", "[design][placement]") {
  const shop::Machine machine = bench();
  const auto swatches =
      place_swatches(some_swatches(32, {300}), {{"jug-1", {}}}, machine, kJug, PlacementOptions{});
  std::map<int, std::vector<double>> doses;
  for (const Swatch& one : swatches)
    doses[one.burn].push_back(std::log(shop::dose_j_mm2(one.setting, machine)));
  REQUIRE(doses.size() == 2);
  CHECK(doses[1].size() == 16);
  CHECK(std::abs(mean_of(doses[1]) - mean_of(doses[2])) < 0.2);
}

TEST_CASE("no factor goes with a place, in any grid and over all seeds", "[design][placement]") {
  const shop::Machine machine = bench();
  const int seeds = 150;
  for (const auto& [count, bottles] : {std::pair{12, 1}, std::pair{24, 1}, std::pair{24, 2}}) {
    const auto planned = some_swatches(count);
    // Sums over seeds and bottles of r and of r squared, by factor and place.
    std::map<std::pair<std::string, std::string>, std::pair<double, double>> sums;
    double largest = 0;
    for (int seed = 1; seed <= seeds; ++seed) {
      PlacementOptions options;
      options.seed = static_cast<std::uint64_t>(seed);
      std::vector<ScrapBottle> shelf;
      for (int b = 0; b < bottles; ++b) shelf.push_back({"jug-" + std::to_string(b + 1), {}});
      const auto swatches = place_swatches(planned, shelf, machine, kJug, options);
      for (const ScrapBottle& bottle : shelf) {
        const auto factors = factors_on(swatches, bottle.name, machine);
        for (const auto& [place, where] : places_on(swatches, bottle.name)) {
          for (const auto& [factor, values] : factors) {
            const double r = correlation(values, where);
            auto& [sum, squares] = sums[{factor, place}];
            sum += r;
            squares += r * r;
            if (place != "neighbours") largest = std::max(largest, std::abs(r));
          }
        }
      }
    }
    CAPTURE(count, bottles);
    CHECK(largest <= 0.5);
    // A random order gives r a mean of 0 and a variance of 1 / (n - 1).
    const double n = static_cast<double>(count) / bottles;
    const double grids = seeds * bottles;
    for (const auto& [what, sum] : sums) {
      CAPTURE(what.first, what.second);
      CHECK(std::abs(sum.first / grids) < 4 / std::sqrt((n - 1) * grids));
      CHECK(sum.second / grids < 1.2 / (n - 1));
    }
  }
}

TEST_CASE("no factor goes with a bottle", "[design][placement]") {
  const shop::Machine machine = bench();
  for (const std::size_t bottles : {2u, 3u}) {
    double largest = 0;
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
      std::vector<ScrapBottle> shelf;
      for (std::size_t b = 0; b < bottles; ++b) shelf.push_back({"jug-" + std::to_string(b + 1), {}});
      PlacementOptions options;
      options.seed = seed;
      const auto swatches = place_swatches(some_swatches(24), shelf, machine, kJug, options);
      std::map<std::string, double> between;  // share of each factor's variance that lies between bottles
      for (const auto& [factor, values] : factors_on(swatches, "", machine)) {
        double all = 0;
        for (const double value : values) all += std::pow(value - mean_of(values), 2);
        for (const ScrapBottle& bottle : shelf) {
          const std::vector<double> here = factors_on(swatches, bottle.name, machine).at(factor);
          between[factor] +=
              static_cast<double>(here.size()) * std::pow(mean_of(here) - mean_of(values), 2) / all;
        }
        largest = std::max(largest, between[factor]);
      }
    }
    CAPTURE(bottles);
    CHECK(largest <= 0.09 + 1e-9);
  }
}

TEST_CASE("neighbours are seldom both hot", "[design][placement]") {
  const shop::Machine machine = bench();
  numerics::RandomEngine random(3);
  for (const int count : {12, 24}) {
    double chosen = 0;
    double any = 0;
    for (int seed = 1; seed <= 150; ++seed) {
      PlacementOptions options;
      options.seed = static_cast<std::uint64_t>(seed);
      auto swatches = place_swatches(some_swatches(count), {{"jug-1", {}}}, machine, kJug, options);
      chosen += hot_pairs(swatches, machine);
      for (std::size_t i = swatches.size(); i > 1; --i)
        std::swap(swatches[i - 1].setting, swatches[random.below(i)].setting);
      any += hot_pairs(swatches, machine);
    }
    CAPTURE(count, chosen, any);
    CHECK(chosen < 0.6 * any);
  }
}

TEST_CASE("a shelved bottle keeps its swatches and its names", "[design][placement]") {
  PlacementOptions options;
  const shop::Machine machine = bench();
  ScrapBottle bottle{"jug-1", {}};
  const int room = bottle_capacity(machine, kJug, options);
  int left = room;
  std::set<std::string> names;
  for (int round = 0; round < 5; ++round) {
    options.seed = static_cast<std::uint64_t>(round) + 1;
    const auto swatches = place_swatches(some_swatches(20), {bottle}, machine, kJug, options);
    bottle.taken.insert(bottle.taken.end(), swatches.begin(), swatches.end());
    for (const Swatch& one : swatches) CHECK(names.insert(one.id).second);
    left = bottle_capacity(machine, kJug, options, bottle);
    CHECK(left == room - 20 * (round + 1));
    check_places(bottle.taken, kJug, machine, options);
  }
  // Larger swatches on what is left.
  options.swatch_mm = 11;
  const int larger = bottle_capacity(machine, kJug, options, bottle);
  if (larger > 0) {
    const auto swatches = place_swatches(some_swatches(larger), {bottle}, machine, kJug, options);
    int overlaps = 0;
    for (const Swatch& one : swatches) {
      for (const Swatch& old : bottle.taken) {
        if (std::abs(one.x_mm - old.x_mm) < 9.5 && std::abs(one.y_mm - old.y_mm) < 9.5) ++overlaps;
      }
    }
    CHECK(overlaps == 0);
  }
}

TEST_CASE("a design may fix the bottle of a swatch", "[design][placement]") {
  std::vector<PlannedSwatch> planned = some_swatches(12);
  for (std::size_t i = 0; i < planned.size(); ++i) planned[i].bottle = i < 8 ? 1 : 0;
  const auto swatches =
      place_swatches(planned, {{"jug-1", {}}, {"jug-2", {}}}, bench(), kJug, PlacementOptions{});
  for (const Swatch& one : swatches) {
    const auto from = std::find_if(planned.begin(), planned.end(), [&](const PlannedSwatch& p) {
      return shop::same_setting(p.setting, one.setting);
    });
    CHECK(one.bottle == (from->bottle == 0 ? "jug-1" : "jug-2"));
  }
}
