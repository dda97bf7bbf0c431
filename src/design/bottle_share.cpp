#include "design/bottle_share.hpp"

#include <algorithm>
#include <map>
#include <numeric>
#include <tuple>
#include <utility>

#include "errors/bug.hpp"

namespace frostcal::design {

namespace {

using Recipe = std::tuple<double, double, int>;

Recipe recipe_of(const PlannedSwatch& swatch) {
  return {swatch.setting.power_pct, swatch.setting.speed_pct, swatch.setting.passes};
}

// Hands out 0 .. n-1 in shuffled groups of one each, leaving out what may take no more.
class Dealer {
 public:
  Dealer(std::vector<std::size_t> room, numerics::RandomEngine& random)
      : room_(std::move(room)), random_(random) {}

  std::size_t next() {
    while (group_.empty() || room_[group_.back()] == 0) {
      if (!group_.empty()) group_.pop_back();
      if (group_.empty()) refill();
    }
    const std::size_t taken = group_.back();
    group_.pop_back();
    --room_[taken];
    return taken;
  }

  /// Takes a place of one that is wished for; false when it has none.
  bool take(std::size_t wished) {
    if (wished >= room_.size() || room_[wished] == 0) return false;
    --room_[wished];
    return true;
  }

 private:
  void refill() {
    for (std::size_t i = 0; i < room_.size(); ++i) {
      if (room_[i] > 0) group_.push_back(i);
    }
    FROSTCAL_ASSERT(!group_.empty(), "there must be room for every swatch");
    for (std::size_t i = group_.size(); i > 1; --i) std::swap(group_[i - 1], group_[random_.below(i)]);
  }

  std::vector<std::size_t> room_;
  std::vector<std::size_t> group_;
  numerics::RandomEngine& random_;
};

// Numbers the burns of one bottle and dpi from `first` on and says how many there are.
int number_burns(const std::vector<BottleShare*>& together, const std::vector<PlannedSwatch>& planned,
                 int first, int recipes_per_burn, numerics::RandomEngine& random) {
  std::vector<Recipe> recipes;
  for (const BottleShare* share : together) {
    const Recipe recipe = recipe_of(planned[share->planned]);
    if (std::find(recipes.begin(), recipes.end(), recipe) == recipes.end()) recipes.push_back(recipe);
  }
  const std::size_t limit = static_cast<std::size_t>(std::max(1, recipes_per_burn));
  const std::size_t burns = (recipes.size() + limit - 1) / limit;
  Dealer dealer(std::vector<std::size_t>(burns, limit), random);
  std::map<Recipe, int> burn_of;
  for (const Recipe& recipe : recipes) burn_of[recipe] = first + static_cast<int>(dealer.next());
  for (BottleShare* share : together) share->burn = burn_of[recipe_of(planned[share->planned])];
  return static_cast<int>(burns);
}

std::vector<std::size_t> by_dpi_and_dose(const std::vector<PlannedSwatch>& planned,
                                         const shop::Machine& machine) {
  std::vector<std::pair<int, double>> keys;
  for (const PlannedSwatch& swatch : planned)
    keys.push_back({swatch.setting.dpi, shop::dose_j_mm2(swatch.setting, machine)});
  std::vector<std::size_t> order(planned.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return keys[a] < keys[b]; });
  return order;
}

}  // namespace

std::vector<BottleShare> share_out(const std::vector<PlannedSwatch>& planned, std::vector<std::size_t> room,
                                   const shop::Machine& machine, numerics::RandomEngine& random) {
  const std::vector<std::size_t> order = by_dpi_and_dose(planned, machine);
  Dealer dealer(std::move(room), random);
  std::vector<bool> fixed(planned.size(), false);
  for (const std::size_t i : order)
    fixed[i] = planned[i].bottle != kAnyBottle && dealer.take(static_cast<std::size_t>(planned[i].bottle));
  std::vector<BottleShare> shares;
  for (const std::size_t i : order)
    shares.push_back({i, fixed[i] ? static_cast<std::size_t>(planned[i].bottle) : dealer.next(), 0});

  std::map<std::pair<std::size_t, int>, std::vector<BottleShare*>> sends;
  for (BottleShare& share : shares)
    sends[{share.bottle, planned[share.planned].setting.dpi}].push_back(&share);
  int next = 1;
  for (const auto& [bottle_and_dpi, together] : sends)
    next += number_burns(together, planned, next, machine.recipes_per_burn, random);
  return shares;
}

}  // namespace frostcal::design
