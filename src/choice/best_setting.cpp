#include "choice/best_setting.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <tuple>

#include "errors/bug.hpp"
#include "surface/physical_setting.hpp"

namespace frostcal::choice {

using surface::PhysicalSetting;

namespace {

using Index = std::tuple<std::size_t, std::size_t, std::size_t, std::size_t>;  // power, speed, dpi, tone

std::vector<RankedSetting> evaluate(const std::vector<shop::Setting>& settings, const shop::Machine& machine,
                                    const ChanceOf& chance, double drift) {
  std::vector<PhysicalSetting> physical;
  physical.reserve(settings.size() * 3);
  for (const shop::Setting& setting : settings) {
    for (const double factor : {1 - drift, 1.0, 1 + drift}) {
      PhysicalSetting point = surface::physical_setting(setting, machine);
      point.power_w *= factor;
      physical.push_back(point);
    }
  }
  const Eigen::VectorXd values = chance(physical);
  FROSTCAL_ASSERT(values.size() == static_cast<Eigen::Index>(physical.size()), "one chance per setting");
  std::vector<RankedSetting> ranked;
  ranked.reserve(settings.size());
  for (std::size_t i = 0; i < settings.size(); ++i) {
    const Eigen::Index at = static_cast<Eigen::Index>(3 * i);
    ranked.push_back({settings[i], (values[at] + values[at + 1] + values[at + 2]) / 3.0, values[at + 1]});
  }
  return ranked;
}

void sort_best_first(std::vector<RankedSetting>& ranked) {
  std::stable_sort(ranked.begin(), ranked.end(),
                   [](const RankedSetting& a, const RankedSetting& b) { return a.objective > b.objective; });
}

// Among those within `tie` of the best the fastest comes first.
void prefer_fast(std::vector<RankedSetting>& ranked, const shop::Machine& machine, double tie) {
  if (ranked.empty()) return;
  std::size_t fastest = 0;
  double least = seconds_per_cm2(ranked[0].setting, machine);
  for (std::size_t i = 1; i < ranked.size() && ranked[i].objective >= ranked[0].objective - tie; ++i) {
    const double seconds = seconds_per_cm2(ranked[i].setting, machine);
    if (seconds < least * (1 - 1e-9)) {
      least = seconds;
      fastest = i;
    }
  }
  std::rotate(ranked.begin(), ranked.begin() + static_cast<std::ptrdiff_t>(fastest),
              ranked.begin() + static_cast<std::ptrdiff_t>(fastest) + 1);
}

}  // namespace

std::vector<RankedSetting> rank_settings(const shop::Machine& machine, const ChanceOf& chance,
                                         const SearchOptions& options) {
  const MachineSettings all = machine_settings(machine);
  const std::vector<std::size_t> powers = log_spaced(all.power_pct, options.coarse_ratio);
  const std::vector<std::size_t> speeds = log_spaced(all.speed_pct, options.coarse_ratio);

  struct Place {
    std::size_t power, speed, dpi, tone;  // positions in `powers` and `speeds`, indices of dpi and tone
  };
  std::vector<Place> places;
  std::vector<shop::Setting> settings;
  for (std::size_t t = 0; t < all.tone_pct.size(); ++t) {
    for (std::size_t d = 0; d < all.dpi.size(); ++d) {
      for (std::size_t s = 0; s < speeds.size(); ++s) {
        for (std::size_t p = 0; p < powers.size(); ++p) {
          const shop::Setting setting = all.at(powers[p], speeds[s], d, t);
          if (!shop::accepts(machine, setting)) continue;
          places.push_back({p, s, d, t});
          settings.push_back(setting);
        }
      }
    }
  }
  std::vector<RankedSetting> coarse = evaluate(settings, machine, chance, options.drift);
  std::vector<std::size_t> order(coarse.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return coarse[a].objective > coarse[b].objective; });

  // Walk the neighbourhoods of the best coarse places in full.
  std::set<Index> wanted;
  const std::size_t count = std::min<std::size_t>(static_cast<std::size_t>(options.refined), order.size());
  for (std::size_t i = 0; i < count; ++i) {
    const Place& place = places[order[i]];
    const std::size_t low_p = powers[place.power == 0 ? 0 : place.power - 1];
    const std::size_t high_p = powers[std::min(place.power + 1, powers.size() - 1)];
    const std::size_t low_s = speeds[place.speed == 0 ? 0 : place.speed - 1];
    const std::size_t high_s = speeds[std::min(place.speed + 1, speeds.size() - 1)];
    for (std::size_t p = low_p; p <= high_p; ++p) {
      for (std::size_t s = low_s; s <= high_s; ++s) wanted.insert({p, s, place.dpi, place.tone});
    }
  }
  std::vector<shop::Setting> fine;
  for (const auto& [p, s, d, t] : wanted) {
    const shop::Setting setting = all.at(p, s, d, t);
    const bool seen = std::find(powers.begin(), powers.end(), p) != powers.end() &&
                      std::find(speeds.begin(), speeds.end(), s) != speeds.end();
    if (!seen && shop::accepts(machine, setting)) fine.push_back(setting);
  }
  std::vector<RankedSetting> ranked = evaluate(fine, machine, chance, options.drift);
  ranked.insert(ranked.end(), coarse.begin(), coarse.end());
  sort_best_first(ranked);
  prefer_fast(ranked, machine, options.tie);
  return ranked;
}

std::vector<RankedSetting> distinct_settings(const std::vector<RankedSetting>& ranked, int most,
                                             double margin) {
  std::vector<RankedSetting> picked;
  for (const RankedSetting& candidate : ranked) {
    if (static_cast<int>(picked.size()) >= most) break;
    if (!picked.empty() && candidate.objective < picked.front().objective - margin) continue;
    const bool near = std::any_of(picked.begin(), picked.end(), [&](const RankedSetting& other) {
      const auto apart = [](double a, double b) { return std::max(a, b) / std::min(a, b); };
      return other.setting.dpi == candidate.setting.dpi &&
             other.setting.tone_pct == candidate.setting.tone_pct &&
             apart(other.setting.power_pct, candidate.setting.power_pct) < 1.25 &&
             apart(other.setting.speed_pct, candidate.setting.speed_pct) < 1.25;
    });
    if (!near) picked.push_back(candidate);
  }
  return picked;
}

namespace {

/// All settings that take the same time but for power and tone.
struct Pace {
  double seconds;
  std::size_t speed, dpi;
};

struct PacedSetting {
  const Pace* pace;
  shop::Setting setting;
};

/// From the fastest on.
std::vector<Pace> paces_of(const MachineSettings& all, const shop::Machine& machine) {
  std::vector<Pace> paces;
  for (std::size_t d = 0; d < all.dpi.size(); ++d)
    for (std::size_t s = 0; s < all.speed_pct.size(); ++s)
      paces.push_back({seconds_per_cm2(all.at(0, s, d, 0), machine), s, d});
  std::stable_sort(paces.begin(), paces.end(),
                   [](const Pace& a, const Pace& b) { return a.seconds < b.seconds; });
  return paces;
}

}  // namespace

std::vector<RankedSetting> fastest_settings(const shop::Machine& machine, const ChanceOf& chance,
                                            double highest, double margin, std::size_t most) {
  constexpr std::size_t kBlock = 32768;  // settings looked at together
  constexpr double kPowerRatio = 1.05;   // of the first look at a pace; from one such power to the next the
  constexpr double kBetween = 0.05;      // chance does not rise by more than this and fall again; a judgement
  const MachineSettings all = machine_settings(machine);
  const std::vector<Pace> paces = paces_of(all, machine);
  const std::vector<std::size_t> some = log_spaced(all.power_pct, kPowerRatio);
  std::vector<std::size_t> every(all.power_pct.size());
  std::iota(every.begin(), every.end(), std::size_t{0});
  const auto add = [&](const Pace& pace, const std::vector<std::size_t>& powers,
                       std::vector<PacedSetting>& settings) {
    for (std::size_t t = 0; t < all.tone_pct.size(); ++t)
      for (const std::size_t p : powers) {
        const shop::Setting setting = all.at(p, pace.speed, pace.dpi, t);
        if (shop::accepts(machine, setting)) settings.push_back({&pace, setting});
      }
  };
  const auto chance_at = [&](const std::vector<PacedSetting>& settings) {
    std::vector<PhysicalSetting> physical;
    for (const PacedSetting& one : settings)
      physical.push_back(surface::physical_setting(one.setting, machine));
    return chance(physical);
  };
  struct Timed {
    double seconds;
    RankedSetting found;
  };
  std::vector<Timed> near;
  std::vector<PacedSetting> close;  // of paces that may be near, with all powers
  const auto look = [&] {
    const Eigen::VectorXd values = chance_at(close);
    for (std::size_t i = 0; i < close.size(); ++i) {
      const double value = values[static_cast<Eigen::Index>(i)];
      if (value >= highest - margin)
        near.push_back({close[i].pace->seconds, {close[i].setting, value, value}});
    }
    close.clear();
  };
  // Up to a dose limit the chance may rise without falling again.
  const auto add_strongest = [&](const Pace& pace, std::vector<PacedSetting>& settings) {
    for (std::size_t t = 0; t < all.tone_pct.size(); ++t)
      for (std::size_t p = all.power_pct.size(); p-- > 0;) {
        const shop::Setting setting = all.at(p, pace.speed, pace.dpi, t);
        if (!shop::accepts(machine, setting)) continue;
        settings.push_back({&pace, setting});
        break;
      }
  };
  const bool worth_two_looks = every.size() >= 4 * some.size();  // about where it begins to save time
  std::vector<PacedSetting> first;
  for (std::size_t i = 0; i < paces.size() && near.size() < most; ++i) {
    const bool last = i + 1 == paces.size();
    const bool tied = !last && paces[i + 1].seconds == paces[i].seconds;
    if (!worth_two_looks) {
      add(paces[i], every, close);
      if (last || (close.size() >= kBlock && !tied)) look();
      continue;
    }
    add(paces[i], some, first);
    if (machine.dose_limit_j_mm2 > 0) add_strongest(paces[i], first);
    if (!last && first.size() < kBlock) continue;
    const Eigen::VectorXd values = chance_at(first);
    const Pace* added = nullptr;
    for (std::size_t k = 0; k < first.size(); ++k) {
      const Pace* pace = first[k].pace;
      if (pace == added || values[static_cast<Eigen::Index>(k)] < highest - margin - kBetween) continue;
      // Those that take the same time are looked at together.
      if (close.size() >= kBlock && added != nullptr && pace->seconds > added->seconds) look();
      if (near.size() >= most) break;
      add(*pace, every, close);
      added = pace;
    }
    first.clear();
    if (!tied) look();
  }
  std::stable_sort(near.begin(), near.end(), [](const Timed& a, const Timed& b) {
    return a.seconds != b.seconds ? a.seconds < b.seconds : a.found.chance > b.found.chance;
  });
  std::vector<RankedSetting> fastest;
  for (std::size_t i = 0; i < std::min(most, near.size()); ++i) fastest.push_back(near[i].found);
  return fastest;
}

double drift_tolerance_pct(const shop::Setting& setting, const shop::Machine& machine, const ChanceOf& chance,
                           double target, Vary vary) {
  constexpr int kSteps = 100;  // of 0.5 %
  std::vector<PhysicalSetting> points;
  for (int step = -kSteps; step <= kSteps; ++step) {
    PhysicalSetting point = surface::physical_setting(setting, machine);
    (vary == Vary::power ? point.power_w : point.speed_mm_s) *= 1 + 0.005 * step;
    points.push_back(point);
  }
  const Eigen::VectorXd values = chance(points);
  int reach = -1;
  while (reach < kSteps && values[kSteps - reach - 1] >= target && values[kSteps + reach + 1] >= target)
    ++reach;
  return reach < 0 ? 0 : 0.5 * reach;
}

}  // namespace frostcal::choice
