#include "choice/targeted_grid.hpp"

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
#include <set>

#include "choice/doubt_reduction.hpp"
#include "choice/machine_settings.hpp"
#include "errors/bug.hpp"
#include "numerics/random_engine.hpp"
#include "shop/burn_time.hpp"
#include "surface/physical_setting.hpp"

namespace frostcal::choice {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;
using surface::GlassSurface;
using surface::PhysicalSetting;

namespace {

struct Candidates {
  std::vector<shop::Setting> settings;
  std::vector<PhysicalSetting> physical;
};

Candidates gather_candidates(const shop::Machine& machine, const shop::Machine& allowed, double ratio) {
  constexpr double kToneRatio = 1.3;
  Candidates candidates;
  candidates.settings = accepted_settings(machine, allowed, ratio, ratio > 1 ? kToneRatio : 1);
  for (const shop::Setting& setting : candidates.settings) {
    candidates.physical.push_back(surface::physical_setting(setting, machine));
  }
  return candidates;
}

constexpr double kTargetRatio = 1.08;  // places that may be a drawn surface's best are no closer
constexpr std::size_t kLookedAtOnce = 64;

// The candidates of one grid as they are chosen.
class Selection {
 public:
  Selection(DoubtReduction doubt, const Candidates& candidates, const shop::Machine& machine,
            const TargetedOptions& options, bool per_second)
      : doubt_(std::move(doubt)),
        candidates_(candidates),
        options_(options),
        per_second_(per_second),
        last_(doubt_.initial_reductions()),
        times_(candidates.settings.size(), 0) {
    for (const shop::Setting& setting : candidates.settings)
      seconds_.push_back(shop::raster_time(options.swatch_mm, options.swatch_mm, setting, machine).seconds);
  }

  /// False when the time does not allow it.
  bool take(std::size_t candidate) {
    if (!affordable(candidate)) return false;
    ++times_[candidate];
    spent_ += seconds_[candidate];
    used_dpi_.insert(candidates_.settings[candidate].dpi);
    settings_.push_back(candidates_.settings[candidate]);
    doubt_.take(static_cast<Index>(candidate));
    return true;
  }

  /// The most useful candidate that may be burned now.
  std::optional<std::size_t> best() {
    std::vector<std::size_t> open;
    for (std::size_t i = 0; i < times_.size(); ++i) {
      const bool new_burn = used_dpi_.count(candidates_.settings[i].dpi) == 0;
      if (times_[i] < options_.most_alike && affordable(i) &&
          !(new_burn && static_cast<int>(used_dpi_.size()) >= options_.most_dpi))
        open.push_back(i);
    }
    std::stable_sort(open.begin(), open.end(),
                     [&](std::size_t a, std::size_t b) { return score(a) > score(b); });
    std::optional<std::size_t> found;
    for (std::size_t first = 0; first < open.size(); first += kLookedAtOnce) {
      if (found && score(open[first]) < options_.worth_another_look * score(*found)) break;
      std::vector<Index> looked_at;
      for (std::size_t i = first; i < std::min(first + kLookedAtOnce, open.size()); ++i)
        looked_at.push_back(static_cast<Index>(open[i]));
      const VectorXd now = doubt_.reductions(looked_at);
      for (std::size_t i = 0; i < looked_at.size(); ++i) {
        const std::size_t at = static_cast<std::size_t>(looked_at[i]);
        last_[looked_at[i]] = now[static_cast<Index>(i)];
        if (!found || score(at) > score(*found) || (score(at) == score(*found) && at < *found)) found = at;
      }
    }
    return found;
  }

  const std::vector<shop::Setting>& settings() const { return settings_; }
  double doubt() const { return doubt_.doubt(); }

 private:
  double score(std::size_t candidate) const {
    const double reduction = last_[static_cast<Index>(candidate)];
    return per_second_ ? reduction / seconds_[candidate] : reduction;
  }
  bool affordable(std::size_t candidate) const {
    return options_.most_seconds <= 0 || spent_ + seconds_[candidate] <= options_.most_seconds;
  }

  DoubtReduction doubt_;
  const Candidates& candidates_;
  const TargetedOptions& options_;
  bool per_second_;
  VectorXd last_;  // reduction of each candidate when last worked out
  std::vector<int> times_;
  std::vector<double> seconds_;
  double spent_ = 0;
  std::set<int> used_dpi_;
  std::vector<shop::Setting> settings_;
};

// Adds a setting to the candidates unless it is one of them, and says where it stands.
std::size_t place_of(const shop::Setting& setting, const shop::Machine& machine, Candidates& candidates) {
  const auto found = shop::find_setting(candidates.settings.begin(), candidates.settings.end(), setting);
  if (found != candidates.settings.end())
    return static_cast<std::size_t>(found - candidates.settings.begin());
  candidates.settings.push_back(setting);
  candidates.physical.push_back(surface::physical_setting(setting, machine));
  return candidates.settings.size() - 1;
}

// How many swatches they make with so many dpi and each setting as often as may be.
int capacity(const Candidates& candidates, const TargetedOptions& options) {
  std::map<int, int> of_dpi;
  for (const shop::Setting& setting : candidates.settings) of_dpi[setting.dpi] += options.most_alike;
  std::vector<int> counts;
  for (const auto& [dpi, count] : of_dpi) counts.push_back(count);
  std::sort(counts.rbegin(), counts.rend());
  if (static_cast<int>(counts.size()) > options.most_dpi)
    counts.resize(static_cast<std::size_t>(options.most_dpi));
  return std::accumulate(counts.begin(), counts.end(), 0);
}

// The best settings of surfaces drawn from the posterior, and what they say of the glass.
struct DrawnBest {
  std::vector<PhysicalSetting> targets;  // one of each draw
  double best_if_known = 0;
  double best_now = 0;
  double share_reaching = 0;
};

// Neighbours differ little, so not all of very many settings are looked at.
DrawnBest drawn_best(const GlassSurface& surface, const shop::Machine& machine, const shop::Machine& allowed,
                     double target, const TargetedOptions& options) {
  const Candidates looked_at =
      gather_candidates(machine, allowed, std::max(options.candidate_ratio, kTargetRatio));
  numerics::RandomEngine random(options.seed);
  const int draws = std::min(options.draws, surface.draws());
  const int first = static_cast<int>(random.below(static_cast<std::uint64_t>(surface.draws() - draws + 1)));
  const MatrixXd drawn = surface.drawn_chance(looked_at.physical, first, draws);
  DrawnBest best;
  VectorXd best_of_draw(draws);
  for (Index s = 0; s < draws; ++s) {
    Index at = 0;
    best_of_draw[s] = drawn.col(s).maxCoeff(&at);
    best.targets.push_back(looked_at.physical[static_cast<std::size_t>(at)]);
  }
  best.best_if_known = best_of_draw.mean();
  best.best_now = drawn.rowwise().mean().maxCoeff();
  best.share_reaching = (best_of_draw.array() >= target).cast<double>().mean();
  return best;
}

}  // namespace

double doubt_removed(const GlassSurface& surface, const shop::Machine& machine, const shop::Machine& allowed,
                     const std::vector<shop::Setting>& settings, const TargetedOptions& options) {
  FROSTCAL_ASSERT(!settings.empty() && options.draws > 0, "a grid has swatches");
  std::vector<PhysicalSetting> physical;
  for (const shop::Setting& setting : settings)
    physical.push_back(surface::physical_setting(setting, machine));
  DoubtReduction doubt(surface, drawn_best(surface, machine, allowed, 0, options).targets, physical);
  const double before = doubt.doubt();
  for (std::size_t i = 0; i < settings.size(); ++i) doubt.take(static_cast<Index>(i));
  return before > 0 ? std::clamp(1 - doubt.doubt() / before, 0.0, 1.0) : 0.0;
}

TargetedGrid plan_targeted(const GlassSurface& surface, const shop::Machine& machine,
                           const shop::Machine& allowed, double target, const TargetedOptions& options) {
  FROSTCAL_ASSERT(options.swatches > 0 && options.most_dpi > 0 && options.draws > 0, "a grid needs swatches");
  Candidates candidates = gather_candidates(machine, allowed, options.candidate_ratio);
  TargetedGrid plan;
  if (candidates.settings.empty()) return plan;
  for (const double finer : {1.04, 1.0})  // where the ranges are narrow
    if (finer < options.candidate_ratio && capacity(candidates, options) < options.swatches)
      candidates = gather_candidates(machine, allowed, finer);

  const DrawnBest drawn = drawn_best(surface, machine, allowed, target, options);
  plan.best_if_known = drawn.best_if_known;
  plan.best_now = drawn.best_now;
  plan.share_reaching = drawn.share_reaching;

  std::vector<std::size_t> first_places;
  for (const shop::Setting& setting : options.first)
    first_places.push_back(place_of(setting, machine, candidates));
  DoubtReduction doubt(surface, drawn.targets, candidates.physical);
  plan.doubt_before = doubt.doubt();
  const auto chosen = [&](DoubtReduction start, bool per_second) {
    Selection selection(std::move(start), candidates, machine, options, per_second);
    for (const std::size_t place : first_places) {
      if (static_cast<int>(selection.settings().size()) < options.swatches) selection.take(place);
    }
    const int first_taken = static_cast<int>(selection.settings().size());
    while (static_cast<int>(selection.settings().size()) < options.swatches) {
      const std::optional<std::size_t> next = selection.best();
      if (!next) break;
      selection.take(*next);
      if (options.progress && !per_second)
        options.progress(static_cast<int>(selection.settings().size()), options.swatches);
    }
    return TargetedGrid{selection.settings(), first_taken, plan.doubt_before, selection.doubt()};
  };
  TargetedGrid best;
  if (options.most_seconds <= 0) {
    best = chosen(std::move(doubt), false);
  } else {
    best = chosen(doubt, false);
    TargetedGrid by_second = chosen(std::move(doubt), true);
    if (by_second.doubt_after < best.doubt_after) best = std::move(by_second);
  }
  plan.settings = std::move(best.settings);
  plan.confirming = best.confirming;
  plan.doubt_after = best.doubt_after;
  const double removed = plan.doubt_before > 0 ? 1 - plan.doubt_after / plan.doubt_before : 0;
  plan.expected_gain = std::max(0.0, plan.best_if_known - plan.best_now) * std::clamp(removed, 0.0, 1.0);
  return plan;
}

}  // namespace frostcal::choice
