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
constexpr int kTrendRounds = 3;
constexpr double kTrendSettled = 0.05;  // of ln power in a year

bool is_shared(EffectKind kind) {
  return kind == EffectKind::grader || kind == EffectKind::day || kind == EffectKind::trend;
}

bool is_dated(EffectKind kind) {
  return kind == EffectKind::day || kind == EffectKind::trend;
}

double prior_sd(EffectKind kind) {
  return kind == EffectKind::grader ? kGraderSd : kind == EffectKind::day ? kDaySd : kTrendSd;
}

/// The evidence exp(vector x - precision x^2 / 2) of messages about an effect x.
struct Told {
  double precision = 0;
  double vector = 0;
};

struct Belief {
  double mean = 0;
  double variance = 0;
};

/// What is believed of an effect by the messages that are `heard`. A trend's prior is a mixture of two
/// normals (surface_prior.hpp); which of them it comes from is judged by `all` messages.
Belief believed(EffectKind kind, const Told& heard, const Told& all) {
  std::vector<std::pair<double, double>> scales{{prior_sd(kind), 1.0}};  // sd, weight
  if (kind == EffectKind::trend) {
    scales = {{kTrendSd, 1 - kFailingShare}, {kFailingTrendSd, kFailingShare}};
  }
  const auto log_evidence = [&](double sd) {
    const double widened = 1 + all.precision * sd * sd;
    return 0.5 * (all.vector * all.vector * sd * sd / widened - std::log(widened));
  };
  const double widest = log_evidence(scales.back().first);
  double total = 0;
  double mean = 0;
  double square = 0;
  for (const auto& [sd, share] : scales) {
    const double weight = share * std::exp(log_evidence(sd) - widest);
    const double precision = 1 / (sd * sd) + heard.precision;
    const double centre = heard.vector / precision;
    total += weight;
    mean += weight * centre;
    square += weight * (1 / precision + centre * centre);
  }
  mean /= total;
  return {mean, square / total - mean * mean};
}

using EffectKey = std::pair<EffectKind, std::string>;

/// What of the effect the glass's places reckon with already.
double assumed(const LocalEffect& effect, const GlassRows& glass) {
  return effect.kind == EffectKind::trend ? glass.assumed_trend : 0;
}

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
        told[g].push_back(
            {{effect.kind, effect.name},
             {g, r, precision, c.effect_mean(at) / variance + precision * assumed(effect, glass)}});
      }
    }
  });
  std::map<EffectKey, std::vector<EffectMessage>> messages;
  for (const auto& one : told) {
    for (const auto& [key, message] : one) messages[key].push_back(message);
  }
  return messages;
}

Told sum_of(const std::vector<EffectMessage>& messages) {
  Told sum;
  for (const EffectMessage& m : messages) {
    sum.precision += m.precision;
    sum.vector += m.vector;
  }
  return sum;
}

void set_priors(std::vector<GlassRows>& glasses,
                const std::map<EffectKey, std::vector<EffectMessage>>& messages) {
  for (std::size_t g = 0; g < glasses.size(); ++g) {
    for (LocalEffect& effect : glasses[g].effects) {
      const auto found = messages.find({effect.kind, effect.name});
      if (found == messages.end()) continue;
      const Told all = sum_of(found->second);
      for (int r = 0; r < 2; ++r) {
        Told told;
        for (const EffectMessage& m : found->second) {
          const bool same_response = m.response == r;
          const bool heard = effect.kind == EffectKind::grader ? same_response && m.glass != g
                                                               : !same_response || m.glass != g;
          if (!heard) continue;
          told.precision += m.precision;
          told.vector += m.vector;
        }
        const Belief belief = believed(effect.kind, told, all);
        effect.mean[static_cast<std::size_t>(r)] = belief.mean - assumed(effect, glasses[g]);
        effect.sd[static_cast<std::size_t>(r)] = std::sqrt(belief.variance);
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

void set_slopes(std::vector<GlassRows>& glasses, const SurfaceBasis& basis, Link link) {
  numerics::parallel_for(glasses.size(), [&](std::size_t g) {
    const std::vector<LocalEffect>& effects = glasses[g].effects;
    const bool dated =
        std::any_of(effects.begin(), effects.end(), [](const LocalEffect& e) { return is_dated(e.kind); });
    if (dated) add_slopes(glasses[g], basis, link);
  });
}

/// The effects of dated kinds act by slopes, which are those of a surface blurred by the trend, at places
/// that it moves: so what the first messages say of it is assumed and the messages are gathered anew.
std::map<EffectKey, std::vector<EffectMessage>> settled_messages(std::vector<GlassRows>& glasses,
                                                                 const SurfaceBasis& basis, Link link) {
  std::map<EffectKey, std::vector<EffectMessage>> messages;
  for (int round = 0;; ++round) {
    set_slopes(glasses, basis, link);
    messages = gather_messages(glasses, basis, link);
    double moved = 0;
    for (GlassRows& glass : glasses) {
      for (const LocalEffect& effect : glass.effects) {
        const auto found = messages.find({effect.kind, effect.name});
        if (effect.kind != EffectKind::trend || found == messages.end()) continue;
        const Told all = sum_of(found->second);
        const double mean = believed(effect.kind, all, all).mean;
        moved = std::max(moved, std::abs(mean - glass.assumed_trend));
        if (round < kTrendRounds) glass.assumed_trend = mean;
      }
    }
    if (moved < kTrendSettled || round == kTrendRounds) return messages;
  }
}

}  // namespace

std::vector<PowerTrend> share_effects(std::vector<GlassRows>& glasses, const SurfaceBasis& basis, Link link) {
  std::vector<PowerTrend> trends;
  if (!worth_sharing(glasses)) return trends;
  const std::map<EffectKey, std::vector<EffectMessage>> messages = settled_messages(glasses, basis, link);
  set_priors(glasses, messages);
  for (const auto& [key, told] : messages) {
    if (key.first != EffectKind::trend) continue;
    std::set<std::size_t> sources;
    for (const EffectMessage& m : told) sources.insert(m.glass);
    const Told all = sum_of(told);
    const Belief belief = believed(EffectKind::trend, all, all);
    PowerTrend trend;
    trend.machine = key.second;
    trend.glasses = static_cast<int>(sources.size());
    int latest = 0;
    const int days = span_of(glasses, trend.machine, latest);
    const double years = days / kDaysInYear;
    const double mean = belief.mean * years;
    const double half = kNinetyPercent * years * std::sqrt(belief.variance);
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
