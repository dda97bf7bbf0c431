#include "surface/glass_change.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <set>
#include <utility>

#include "surface/glass_sketch.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::surface {
namespace {

constexpr double kChangeSd = 0.3;
constexpr double kNone = 1e-6;  // sd of an offset that is not to be

/// Id of the grid that a swatch belongs to; empty when its burn names none.
std::string grid_of(const Observation& o) {
  const std::size_t slash = o.burn.find('/');
  return slash == std::string::npos ? "" : o.burn.substr(0, slash);
}

/// Years from the earlier grids' mean day to the newest grid's; 0 where one has no day.
double years_between(const std::vector<Observation>& own, const std::string& newest) {
  double sum[2] = {0, 0};
  int count[2] = {0, 0};
  for (const Observation& o : own) {
    const std::optional<int> day = textfile::day_number(o.day);
    if (!day) continue;
    const int side = grid_of(o) == newest ? 1 : 0;
    sum[side] += *day;
    ++count[side];
  }
  if (count[0] == 0 || count[1] == 0) return 0;
  return (sum[1] / count[1] - sum[0] / count[0]) / kDaysInYear;
}

/// The glass's own swatches of grids.
std::vector<Observation> own_swatches(const GlassSurface& surface,
                                      const std::vector<Observation>& observations) {
  std::vector<Observation> own;
  for (const Observation& o : observations) {
    if (o.glass == surface.glass() && !o.piece && !grid_of(o).empty()) own.push_back(o);
  }
  return own;
}

std::string newest_grid(const std::vector<Observation>& own) {
  std::string newest;
  for (const Observation& o : own) newest = std::max(newest, grid_of(o));
  return newest;
}

/// Nothing where the grades don't tell.
std::optional<bool> acceptable(const Observation& o, const Bar& bar) {
  if (o.frost == kNotGraded || o.chipping == kNotGraded) return std::nullopt;
  if (o.frost.lowest >= bar.frost && o.chipping.highest <= bar.chipping) return true;
  if (o.frost.highest < bar.frost || o.chipping.lowest > bar.chipping) return false;
  return std::nullopt;
}

/// A quick fit of these swatches, to be asked about others.
GlassSurface quick_surface(const GlassSurface& of, const std::vector<Observation>& swatches) {
  constexpr int kDraws = 400;
  const SurfaceBasis& basis = of.basis();
  GlassRows rows = gather_rows(swatches, basis.centre()).front();
  add_slopes(rows, basis, of.link());
  GlassSketch sketch = sketch_of(rows, basis, of.link());
  ResponsePosterior posterior[2];
  for (const Response r : {Response::frost, Response::chipping}) {
    posterior[index_of(r)].response = r;
    posterior[index_of(r)].status = FitStatus::converged;
    posterior[index_of(r)].components.push_back(std::move(sketch.response[index_of(r)]));
  }
  return GlassSurface(of.glass(), std::make_shared<SurfaceBasis>(basis), of.link(), of.bar(), std::move(rows),
                      std::move(posterior[0]), std::move(posterior[1]), kDraws, 1);
}

/// What the earlier grids say of one bottle of the newest one.
struct PromisedBottle {
  bool failed = true;            // all of its swatches
  Eigen::ArrayXd chance;         // mean over its swatches, by draw
  std::vector<Eigen::Index> at;  // its swatches
};

/// Mean over the draws of the probability that at least `failed` of the bottles fail.
double probability_of(const std::map<std::string, PromisedBottle>& bottles, std::size_t failed) {
  const Eigen::Index draws = bottles.begin()->second.chance.size();
  double sum = 0;
  for (Eigen::Index d = 0; d < draws; ++d) {
    std::vector<double> count{1};  // probability of 0, 1, ... failures
    for (const auto& [name, bottle] : bottles) {
      const double fails = 1 - bottle.chance(d);
      count.push_back(0);
      for (std::size_t k = count.size() - 1; k > 0; --k)
        count[k] = count[k] * (1 - fails) + count[k - 1] * fails;
      count[0] *= 1 - fails;
    }
    for (std::size_t k = failed; k < count.size(); ++k) sum += count[k];
  }
  return sum / static_cast<double>(draws);
}

/// By what the glass's other swatches say of those of these grids.
std::optional<BrokenPromise> broken_by(const std::set<std::string>& grids, const GlassSurface& surface,
                                       const std::vector<Observation>& own) {
  std::vector<Observation> earlier, newest;
  bool any_failed = false;
  for (const Observation& o : own) {
    if (grids.count(grid_of(o)) == 0) {
      earlier.push_back(o);
    } else if (const auto good = acceptable(o, surface.bar())) {
      newest.push_back(o);
      any_failed |= !*good;
    }
  }
  if (earlier.size() < kFewestToPromise || !any_failed) return std::nullopt;
  std::vector<PhysicalSetting> settings;
  for (const Observation& o : newest) settings.push_back(o.setting);
  const GlassSurface before = quick_surface(surface, earlier);
  const Eigen::VectorXd chance = before.mean_chance(settings);
  const Eigen::MatrixXd drawn = before.drawn_chance(settings);
  BrokenPromise broken;
  std::map<std::string, PromisedBottle> bottles;
  for (Eigen::Index i = 0; i < chance.size(); ++i) {
    if (chance(i) < kHighChance) continue;
    const Observation& o = newest[static_cast<std::size_t>(i)];
    PromisedBottle& bottle = bottles[o.bottle];
    if (bottle.at.empty()) bottle.chance = Eigen::ArrayXd::Zero(drawn.cols());
    bottle.chance += drawn.row(i).transpose().array();
    bottle.failed &= !*acceptable(o, surface.bar());
    bottle.at.push_back(i);
  }
  for (auto& [name, bottle] : bottles) {
    bottle.chance /= static_cast<double>(bottle.at.size());
    if (!bottle.failed) continue;
    broken.bottles.push_back(name);
    for (const Eigen::Index i : bottle.at) {
      broken.swatches.push_back(newest[static_cast<std::size_t>(i)].swatch);
      broken.promised += chance(i);
    }
  }
  if (broken.bottles.empty()) return std::nullopt;
  broken.promised /= static_cast<double>(broken.swatches.size());
  broken.probability = probability_of(bottles, broken.bottles.size());
  if (broken.probability >= kBroken) return std::nullopt;
  return broken;
}

/// Those that were last graded on the latest day.
std::set<std::string> grids_of_latest_day(const std::vector<Observation>& own) {
  std::map<std::string, std::string> days;
  std::string latest;
  for (const Observation& o : own) {
    std::string& day = days[grid_of(o)];
    day = std::max(day, o.day);
    latest = std::max(latest, o.day);
  }
  std::set<std::string> grids;
  for (const auto& [grid, day] : days) {
    if (day == latest) grids.insert(grid);
  }
  return grids;
}

}  // namespace

std::optional<BrokenPromise> broken_promise(const GlassSurface& surface,
                                            const std::vector<Observation>& observations) {
  const std::vector<Observation> own = own_swatches(surface, observations);
  const std::set<std::string> newest{newest_grid(own)};
  std::optional<BrokenPromise> broken = broken_by(newest, surface, own);
  const std::set<std::string> of_a_day = grids_of_latest_day(own);
  if (!broken && of_a_day != newest) broken = broken_by(of_a_day, surface, own);
  return broken;
}

std::optional<GlassChange> newest_grid_change(const GlassSurface& surface,
                                              const std::vector<Observation>& observations) {
  GlassChange change;
  std::vector<Observation> own = own_swatches(surface, observations);
  change.grid = newest_grid(own);
  const double by_trend = surface.rows().assumed_trend * years_between(own, change.grid);
  // Two made-up days take the place of the real ones, so that the day's effect is the newest grid's.
  for (Observation& o : own) {
    const bool newest = grid_of(o) == change.grid;
    o.day = newest ? "2000-01-02" : "2000-01-01";
    if (newest) change.swatches.push_back(o.swatch);
  }
  std::vector<GlassRows> gathered = gather_rows(own, surface.basis().centre());
  if (gathered.empty()) return std::nullopt;
  GlassRows& rows = gathered[0];
  std::vector<std::size_t> days;
  for (std::size_t e = 0; e < rows.effects.size(); ++e) {
    if (rows.effects[e].kind == EffectKind::day) days.push_back(e);
  }
  if (days.size() != 2) return std::nullopt;
  rows.effects[days[0]].sd = {kNone, kNone};
  rows.effects[days[1]].sd = {kChangeSd, kChangeSd};
  add_slopes(rows, surface.basis(), surface.link());
  const GlassSketch sketch = sketch_of(rows, surface.basis(), surface.link());
  double precision = 1 / (kChangeSd * kChangeSd);
  double vector = 0;
  for (const ScaleComponent& c : sketch.response) {
    const Eigen::Index at = static_cast<Eigen::Index>(days[1]);
    precision += std::max(0.0, 1 / c.effect_variance(at) - 1 / (kChangeSd * kChangeSd));
    vector += c.effect_mean(at) / c.effect_variance(at);
  }
  change.ln_power = vector / precision - by_trend;
  change.sd = 1 / std::sqrt(precision);
  return change;
}

}  // namespace frostcal::surface
