#include "surface/glass_change.hpp"

#include <algorithm>
#include <cmath>

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

}  // namespace

std::optional<GlassChange> newest_grid_change(const GlassSurface& surface,
                                              const std::vector<Observation>& observations) {
  GlassChange change;
  std::vector<Observation> own;
  for (const Observation& o : observations) {
    if (o.glass != surface.glass() || o.piece || grid_of(o).empty()) continue;
    own.push_back(o);
    change.grid = std::max(change.grid, grid_of(o));
  }
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
