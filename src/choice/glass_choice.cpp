#include "choice/glass_choice.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <optional>
#include <utility>

#include "choice/evidence_count.hpp"
#include "choice/targeted_grid.hpp"
#include "surface/physical_setting.hpp"

namespace frostcal::choice {

using surface::GlassSurface;
using surface::PhysicalSetting;

namespace {

// Large batches (the walk over all settings) are interpolated, small ones exact.
ChanceOf fast_chance(const GlassSurface& surface) {
  return [&surface](const std::vector<PhysicalSetting>& settings) { return surface.scan_chance(settings); };
}

// The box of settings that were burned, pieces included.
struct Tried {
  bool any = false;
  double low[3] = {0, 0, 0};  // ln power, ln speed, ln pitch
  double high[3] = {0, 0, 0};
};

std::array<double, 3> logs(const PhysicalSetting& setting) {
  return {std::log(setting.power_w), std::log(setting.speed_mm_s), std::log(setting.pitch_mm)};
}

Tried tried_of(const surface::ShopEvidence& evidence, const std::string& name) {
  Tried tried;
  for (const surface::Observation& seen : evidence.observations) {
    if (seen.glass != name) continue;
    const std::array<double, 3> at = logs(seen.setting);
    for (std::size_t i = 0; i < 3; ++i) {
      tried.low[i] = !tried.any ? at[i] : std::min(tried.low[i], at[i]);
      tried.high[i] = !tried.any ? at[i] : std::max(tried.high[i], at[i]);
    }
    tried.any = true;
  }
  return tried;
}

bool is_beyond(const Tried& tried, const PhysicalSetting& setting) {
  if (!tried.any) return true;
  const std::array<double, 3> at = logs(setting);
  for (std::size_t i = 0; i < 3; ++i) {
    const double half = 0.5 * (tried.high[i] - tried.low[i]);
    if (at[i] < tried.low[i] - half - 1e-9 || at[i] > tried.high[i] + half + 1e-9) return true;
  }
  return false;
}

LimitingCause costliest(const Decision& best, const surface::ChanceParts& parts) {
  constexpr double kHalf = 0.5;  // of what is lacking; a judgement
  if (parts.without_bottle_spread - best.chance > kHalf * (1 - best.chance))
    return LimitingCause::bottle_spread;
  return parts.frost <= parts.chipping ? LimitingCause::frost : LimitingCause::chipping;
}

// What costs most of the chance at the chosen setting: too little frost, chips, bottles that differ, or plain
// ignorance (the interval is wide).
LimitingCause limiting_cause(const Decision& best, const surface::ChanceParts& parts, double target,
                             int swatches) {
  constexpr double kSurelyGood = 0.1;  // the interval's low end under the target by no more; a judgement
  constexpr double kWide = 0.35;       // interval of a chance that little is known of; a judgement
  if (best.chance >= target && best.chance_low >= target - kSurelyGood) return LimitingCause::nothing;
  if (swatches < kFewSwatches || best.chance_high - best.chance_low > kWide) {
    return LimitingCause::few_swatches;
  }
  return costliest(best, parts);
}

Decision pick_preferred(std::vector<Decision> shortlist, const ChoiceOptions& options) {
  double highest = 0;
  for (const Decision& decision : shortlist) highest = std::max(highest, decision.chance);
  const auto better = [&](const Decision& a, const Decision& b) {
    switch (options.prefer) {
      case Prefer::fast:
        return a.seconds_per_cm2 < b.seconds_per_cm2;
      case Prefer::robust:
        return a.tolerance_pct > b.tolerance_pct;
      case Prefer::sure:
        return a.chance_low > b.chance_low;
      case Prefer::chance:
        break;
    }
    return false;
  };
  Decision picked = shortlist.front();
  for (const Decision& decision : shortlist) {
    if (decision.chance >= highest - options.margin && better(decision, picked)) picked = decision;
  }
  return picked;
}

constexpr std::size_t kMostDescribed = 40;

// Settings within the margin, thinned so that neighbours differ: what a preference chooses from.
std::vector<RankedSetting> within_margin(const std::vector<RankedSetting>& ranked, double margin) {
  std::vector<RankedSetting> near;
  for (const RankedSetting& candidate : ranked) {
    if (candidate.objective >= ranked.front().objective - margin) near.push_back(candidate);
  }
  if (near.size() <= kMostDescribed) return near;
  std::vector<RankedSetting> thinned;
  for (std::size_t i = 0; i < kMostDescribed; ++i) thinned.push_back(near[i * near.size() / kMostDescribed]);
  return thinned;
}

// The fastest of those seen in the search that is as good within the margin; nothing where it saves less than
// a third of the time.
std::optional<Decision> much_faster(const std::vector<RankedSetting>& ranked, const Decision& best,
                                    double margin, const shop::Machine& machine,
                                    const std::function<Decision(const shop::Setting&)>& describe) {
  constexpr double kShare = 2.0 / 3;  // of the time, from which on it is worth a line; a judgement
  std::vector<std::pair<double, const RankedSetting*>> faster;
  for (const RankedSetting& one : ranked) {
    if (one.objective < ranked.front().objective - margin) break;
    const double seconds = seconds_per_cm2(one.setting, machine);
    if (one.chance >= best.chance - margin && seconds <= kShare * best.seconds_per_cm2)
      faster.emplace_back(seconds, &one);
  }
  std::stable_sort(faster.begin(), faster.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  for (const auto& [seconds, one] : faster) {
    const Decision described = describe(one->setting);
    if (!described.beyond_tried && described.chance >= best.chance - margin) return described;
  }
  return std::nullopt;
}

}  // namespace

bool beyond_tried(const surface::ShopEvidence& evidence, const std::string& name,
                  const PhysicalSetting& setting) {
  return is_beyond(tried_of(evidence, name), setting);
}

Decision describe_setting(const shop::Setting& setting, const shop::Machine& machine,
                          const surface::ChanceInterval& interval, const ChanceOf& chance,
                          const shop::Acceptance& acceptance) {
  Decision decision;
  decision.setting = setting;
  decision.chance = interval.chance;
  decision.chance_low = interval.low;
  decision.chance_high = interval.high;
  decision.tolerance_pct = drift_tolerance_pct(setting, machine, chance, acceptance.chance, Vary::power);
  decision.speed_tolerance_pct =
      drift_tolerance_pct(setting, machine, chance, acceptance.chance, Vary::speed);
  decision.seconds_per_cm2 = seconds_per_cm2(setting, machine);
  return decision;
}

Decision describe_setting(const shop::Setting& setting, const shop::Machine& machine,
                          const GlassSurface& surface, const shop::Acceptance& acceptance) {
  return describe_setting(setting, machine, surface.chance(surface::physical_setting(setting, machine)),
                          fast_chance(surface), acceptance);
}

GlassChoice choose_setting(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                           const surface::ShopSurface& surfaces, const std::string& glass,
                           const std::string& machine_name, const ChoiceOptions& options) {
  const shop::Machine& machine = shop.machine(machine_name);
  const std::string name = surface::surface_name(glass, machine_name);
  const GlassSurface& surface = surfaces.glass(name);
  const Tried tried = tried_of(evidence, name);

  GlassChoice choice;
  choice.glass = glass;
  choice.machine = machine_name;
  const EvidenceCount count = count_evidence(evidence, name);
  choice.swatches = count.swatches;
  choice.bottles = count.bottles;
  choice.pieces = count.pieces;
  choice.set_aside = grades::set_aside_text(evidence.set_aside, glass, machine_name);
  choice.grids = graded_grids(evidence, glass, machine_name);
  if (choice.swatches == 0) {
    for (const shop::Machine& other : shop.machines) {
      if (!graded_grids(evidence, glass, other.name).empty()) choice.known_on.push_back(other.name);
    }
  }
  const std::vector<RankedSetting> ranked = rank_settings(machine, fast_chance(surface));
  if (ranked.empty() || (!tried.any && surfaces.glasses().empty())) {
    choice.limited_by = LimitingCause::few_swatches;
    return choice;
  }
  const auto describe = [&](const shop::Setting& setting) {
    Decision decision = describe_setting(setting, machine, surface, shop.acceptance);
    decision.beyond_tried = is_beyond(tried, surface::physical_setting(setting, machine));
    return decision;
  };
  Decision best = describe(ranked.front().setting);
  if (options.prefer != Prefer::chance) {
    std::vector<Decision> shortlist{best};
    const std::vector<RankedSetting> near =
        options.prefer == Prefer::fast
            ? fastest_settings(machine, fast_chance(surface), best.chance, options.margin, kMostDescribed)
            : within_margin(ranked, options.margin);
    for (const RankedSetting& one : near) shortlist.push_back(describe(one.setting));
    best = pick_preferred(shortlist, options);
  }
  for (const RankedSetting& other : distinct_settings(ranked, 4, 0.10)) {
    if (!shop::same_setting(other.setting, best.setting) && choice.alternatives.size() < 3) {
      choice.alternatives.push_back(describe(other.setting));
    }
  }
  if (options.prefer == Prefer::chance)
    choice.faster = much_faster(ranked, best, options.margin, machine, describe);
  const surface::ChanceParts parts = surface.chance_parts(surface::physical_setting(best.setting, machine));
  choice.limited_by = limiting_cause(best, parts, shop.acceptance.chance, count.swatches);
  choice.best = best;
  if (options.plan_ahead) {
    TargetedOptions ahead;
    ahead.seed = options.seed;
    const TargetedGrid next = plan_targeted(surface, machine, machine, shop.acceptance.chance, ahead);
    choice.expected_gain = next.expected_gain;
    choice.stop = next.stop();
    choice.out_of_reach = next.hopeless();
    // More swatches are not what is missing.
    if (choice.stop && choice.limited_by == LimitingCause::few_swatches && choice.swatches >= kFewSwatches) {
      choice.limited_by = costliest(*choice.best, parts);
    }
  }
  return choice;
}

}  // namespace frostcal::choice
