#include "design/bottle_share.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <utility>

#include "errors/bug.hpp"

namespace frostcal::design {

namespace {

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
    random_.shuffle(group_);
  }

  std::vector<std::size_t> room_;
  std::vector<std::size_t> group_;
  numerics::RandomEngine& random_;
};

// Numbers the burns of one bottle and dpi from `first` on and says how many there are.
int number_burns(const std::vector<BottleShare*>& together, const std::vector<PlannedSwatch>& planned,
                 int first, int most_recipes, numerics::RandomEngine& random) {
  std::vector<shop::Recipe> recipes;
  for (const BottleShare* share : together) {
    const shop::Recipe recipe = shop::recipe_of(planned[share->planned].setting);
    if (std::find(recipes.begin(), recipes.end(), recipe) == recipes.end()) recipes.push_back(recipe);
  }
  const std::size_t limit = static_cast<std::size_t>(std::max(1, most_recipes));
  const std::size_t burns = (recipes.size() + limit - 1) / limit;
  Dealer dealer(std::vector<std::size_t>(burns, limit), random);
  std::map<shop::Recipe, int> burn_of;
  for (const shop::Recipe& recipe : recipes) burn_of[recipe] = first + static_cast<int>(dealer.next());
  for (BottleShare* share : together) share->burn = burn_of[shop::recipe_of(planned[share->planned].setting)];
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

// Share of the variance of the values that their groups explain; 0 where all are the same.
double explained_share(const std::vector<double>& values, const std::vector<std::size_t>& group,
                       std::size_t groups) {
  std::vector<double> sum(groups, 0.0);
  std::vector<double> count(groups, 0.0);
  double total = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    sum[group[i]] += values[i];
    ++count[group[i]];
    total += values[i];
  }
  const double mean = total / static_cast<double>(values.size());
  double all = 0;
  for (const double value : values) all += (value - mean) * (value - mean);
  if (all <= 1e-18 * (1 + mean * mean) * static_cast<double>(values.size())) return 0;
  double between = 0;
  for (std::size_t g = 0; g < groups; ++g) {
    if (count[g] > 0) between += count[g] * (sum[g] / count[g] - mean) * (sum[g] / count[g] - mean);
  }
  return between / all;
}

// Deals bottles in `order`; a fixed bottle is held to while it has room.
std::vector<std::size_t> deal(const std::vector<PlannedSwatch>& planned,
                              const std::vector<std::size_t>& order, const std::vector<std::size_t>& room,
                              numerics::RandomEngine& random) {
  Dealer dealer(room, random);
  std::vector<std::size_t> bottle(planned.size(), room.size());
  for (const std::size_t i : order) {
    if (planned[i].bottle != kAnyBottle && dealer.take(static_cast<std::size_t>(planned[i].bottle)))
      bottle[i] = static_cast<std::size_t>(planned[i].bottle);
  }
  for (const std::size_t i : order) {
    if (bottle[i] == room.size()) bottle[i] = dealer.next();
  }
  return bottle;
}

std::vector<std::size_t> balanced_deal(const std::vector<PlannedSwatch>& planned,
                                       const std::vector<std::size_t>& order,
                                       const std::vector<std::size_t>& room, numerics::RandomEngine& random) {
  constexpr int kDeals = 40;
  std::vector<double> power;
  std::vector<double> speed;
  for (const PlannedSwatch& swatch : planned) {
    power.push_back(std::log(swatch.setting.power_pct));
    speed.push_back(std::log(swatch.setting.speed_pct));
  }
  std::vector<std::size_t> best;
  double least = 0;
  for (int i = 0; i < kDeals && (best.empty() || least > kMostBottleShare); ++i) {
    const std::vector<std::size_t> bottle = deal(planned, order, room, random);
    const double share =
        std::max(explained_share(power, bottle, room.size()), explained_share(speed, bottle, room.size()));
    if (best.empty() || share < least) {
      best = bottle;
      least = share;
    }
  }
  return best;
}

}  // namespace

std::vector<BottleShare> share_out(const std::vector<PlannedSwatch>& planned,
                                   const std::vector<std::size_t>& room, const shop::Machine& machine,
                                   numerics::RandomEngine& random) {
  const std::vector<std::size_t> order = by_dpi_and_dose(planned, machine);
  const std::vector<std::size_t> bottle = balanced_deal(planned, order, room, random);
  std::vector<BottleShare> shares;
  for (const std::size_t i : order) shares.push_back({i, bottle[i], 0});

  std::map<std::pair<std::size_t, int>, std::vector<BottleShare*>> sends;
  for (BottleShare& share : shares)
    sends[{share.bottle, planned[share.planned].setting.dpi}].push_back(&share);
  int next = 1;
  for (const auto& [bottle_and_dpi, together] : sends)
    next += number_burns(together, planned, next, machine.most_recipes(), random);
  return shares;
}

}  // namespace frostcal::design
