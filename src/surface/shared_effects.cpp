#include "surface/shared_effects.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>

#include "numerics/parallel_for.hpp"
#include "surface/glass_sketch.hpp"
#include "surface/surface_prior.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::surface {
namespace {

constexpr double kNinetyPercent = 1.6449;  // normal quantile of 0.95

bool is_shared(EffectKind kind) {
  return kind == EffectKind::grader || kind == EffectKind::day || kind == EffectKind::trend;
}

bool is_dated(EffectKind kind) {
  return kind == EffectKind::day || kind == EffectKind::trend;
}

double prior_sd(EffectKind kind) {
  return kind == EffectKind::grader ? kGraderSd : kind == EffectKind::day ? kDaySd : kTrendSd;
}

using EffectKey = std::pair<EffectKind, std::string>;

struct EffectMessage {
  std::size_t glass = 0;
  int response = 0;
  double precision = 0;
  double vector = 0;  // precision times mean
};

/// Does any effect say something beyond one glass, or need a slope?
bool worth_sharing(const std::vector<GlassRows>& glasses) {
  std::set<std::string> graders;
  for (const GlassRows& glass : glasses) {
    for (const LocalEffect& e : glass.effects) {
      if (is_dated(e.kind)) return true;
      if (e.kind == EffectKind::grader) graders.insert(e.name);
    }
  }
  return graders.size() > 1;
}

std::map<EffectKey, std::vector<EffectMessage>> gather_messages(const std::vector<GlassRows>& glasses,
                                                                const SurfaceBasis& basis, Link link) {
  std::vector<std::vector<std::pair<EffectKey, EffectMessage>>> told(glasses.size());
  numerics::parallel_for(glasses.size(), [&](std::size_t g) {
    const GlassRows& glass = glasses[g];
    const GlassSketch sketch = sketch_of(glass, basis, link);
    for (int r = 0; r < 2; ++r) {
      const ScaleComponent& c = sketch.response[static_cast<std::size_t>(r)];
      for (std::size_t e = 0; e < glass.effects.size(); ++e) {
        const LocalEffect& effect = glass.effects[e];
        if (!is_shared(effect.kind)) continue;
        const Eigen::Index at = static_cast<Eigen::Index>(e);
        const double variance = c.effect_variance(at);
        const double own = prior_sd(effect.kind);
        const double precision = 1 / variance - 1 / (own * own);
        if (!(precision > 0)) continue;
        told[g].push_back({{effect.kind, effect.name}, {g, r, precision, c.effect_mean(at) / variance}});
      }
    }
  });
  std::map<EffectKey, std::vector<EffectMessage>> messages;
  for (const auto& one : told) {
    for (const auto& [key, message] : one) messages[key].push_back(message);
  }
  return messages;
}

void set_priors(std::vector<GlassRows>& glasses,
                const std::map<EffectKey, std::vector<EffectMessage>>& messages) {
  for (std::size_t g = 0; g < glasses.size(); ++g) {
    for (LocalEffect& effect : glasses[g].effects) {
      const auto found = messages.find({effect.kind, effect.name});
      if (found == messages.end()) continue;
      for (int r = 0; r < 2; ++r) {
        double precision = 1 / (prior_sd(effect.kind) * prior_sd(effect.kind));
        double vector = 0;
        for (const EffectMessage& m : found->second) {
          const bool same_response = m.response == r;
          const bool heard = effect.kind == EffectKind::grader ? same_response && m.glass != g
                                                               : !same_response || m.glass != g;
          if (!heard) continue;
          precision += m.precision;
          vector += m.vector;
        }
        effect.mean[static_cast<std::size_t>(r)] = vector / precision;
        effect.sd[static_cast<std::size_t>(r)] = 1 / std::sqrt(precision);
      }
    }
  }
}

/// Most days before the latest day, over the machine's dated swatches.
int span_of(const std::vector<GlassRows>& glasses, const std::string& machine, int& latest) {
  int days = 0;
  for (const GlassRows& glass : glasses) {
    for (const ResponseRows* rows : {&glass.frost, &glass.chipping}) {
      for (const Occasion& o : rows->occasions) {
        if (o.trend < 0 || glass.effects[static_cast<std::size_t>(o.trend)].name != machine) continue;
        days = std::max(days, o.days_ago);
        latest = glass.latest_day;
      }
    }
  }
  return days;
}

}  // namespace

std::vector<PowerTrend> share_effects(std::vector<GlassRows>& glasses, const SurfaceBasis& basis, Link link) {
  std::vector<PowerTrend> trends;
  if (!worth_sharing(glasses)) return trends;
  numerics::parallel_for(glasses.size(), [&](std::size_t g) {
    const std::vector<LocalEffect>& effects = glasses[g].effects;
    const bool dated =
        std::any_of(effects.begin(), effects.end(), [](const LocalEffect& e) { return is_dated(e.kind); });
    if (dated) add_slopes(glasses[g], basis, link);
  });
  const std::map<EffectKey, std::vector<EffectMessage>> messages = gather_messages(glasses, basis, link);
  set_priors(glasses, messages);
  for (const auto& [key, told] : messages) {
    if (key.first != EffectKind::trend) continue;
    double precision = 1 / (kTrendSd * kTrendSd);
    double vector = 0;
    std::set<std::size_t> sources;
    for (const EffectMessage& m : told) {
      precision += m.precision;
      vector += m.vector;
      sources.insert(m.glass);
    }
    PowerTrend trend;
    trend.machine = key.second;
    trend.glasses = static_cast<int>(sources.size());
    int latest = 0;
    const int days = span_of(glasses, trend.machine, latest);
    const double years = days / kDaysInYear;
    const double mean = vector / precision * years;
    const double half = kNinetyPercent * years / std::sqrt(precision);
    trend.change = std::expm1(mean);
    trend.low = std::expm1(mean - half);
    trend.high = std::expm1(mean + half);
    trend.since = textfile::date_text(latest - days);
    trend.until = textfile::date_text(latest);
    trends.push_back(trend);
  }
  return trends;
}

}  // namespace frostcal::surface
