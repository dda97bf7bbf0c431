#include "surface/shared_effects.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <set>

#include "numerics/parallel_for.hpp"
#include "surface/glass_sketch.hpp"
#include "surface/surface_prior.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::surface {
namespace {

constexpr double kNinetyPercent = 1.6449;  // normal quantile of 0.95
constexpr int kTrendRounds = 3;
constexpr double kTells = 0.05;  // share of what is told of a trend that makes a glass one that tells it
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

struct Normal {
  double mean = 0;
  double sd = 0;
};

/// A trend's prior is a mixture of two normals where the machine `may_fail` (surface_prior.hpp).
std::vector<std::pair<Normal, double>> prior_of(EffectKind kind, bool may_fail) {
  if (kind != EffectKind::trend) return {{{0, prior_sd(kind)}, 1.0}};
  if (!may_fail) return {{{0, kLoneTrendSd}, 1.0}};
  return {{{0, kTrendSd}, 1 - kFailingShare}, {{kFailingTrend, kFailingTrendSd}, kFailingShare}};
}

/// What is believed of an effect by the messages that are `heard`. Which of a mixture's parts it comes from
/// is judged by `all` messages.
Belief believed(const std::vector<std::pair<Normal, double>>& prior, const Told& heard, const Told& all) {
  const auto log_evidence = [&](const Normal& part) {
    const double before = 1 / (part.sd * part.sd);
    const double pull = part.mean * before + all.vector;
    return 0.5 * (pull * pull / (before + all.precision) - part.mean * part.mean * before -
                  std::log1p(all.precision / before));
  };
  double highest = -std::numeric_limits<double>::infinity();
  for (const auto& [part, share] : prior) highest = std::max(highest, log_evidence(part));
  double total = 0;
  double mean = 0;
  double square = 0;
  for (const auto& [part, share] : prior) {
    const double weight = share * std::exp(log_evidence(part) - highest);
    const double before = 1 / (part.sd * part.sd);
    const double precision = before + heard.precision;
    const double centre = (part.mean * before + heard.vector) / precision;
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

/// Variance that bottles' own differences in power leave in a slope over their days, by least squares; per
/// year^2. Nothing where all were burned on one day.
std::optional<double> blur_of(const ResponseRows& rows) {
  std::map<int, double> burned;  // bottle: years ago
  for (const Occasion& o : rows.occasions) {
    if (!o.piece && o.trend >= 0) burned[o.bottle] = o.days_ago / kDaysInYear;
  }
  double mean = 0;
  for (const auto& [bottle, years] : burned) mean += years / static_cast<double>(burned.size());
  double spread = 0;
  for (const auto& [bottle, years] : burned) spread += (years - mean) * (years - mean);
  if (!(spread > 0)) return std::nullopt;
  return kBottlePowerSd * kBottlePowerSd / spread;
}

/// The days over which a machine's grids were burned, and how many bottles were in either half of them.
struct Span {
  int days = 0;
  int latest = 0;
  int early_bottles = 0;
  int late_bottles = 0;
  bool may_fail() const { return std::min(early_bottles, late_bottles) >= kBottlesToFail; }
};

std::map<std::string, Span> spans_of(const std::vector<GlassRows>& glasses) {
  std::map<std::string, std::map<std::pair<std::string, int>, int>> burned;  // machine, bottle: days ago
  std::map<std::string, Span> spans;
  for (const GlassRows& glass : glasses) {
    for (const ResponseRows* rows : {&glass.frost, &glass.chipping}) {
      for (const Occasion& o : rows->occasions) {
        if (o.trend < 0 || o.piece) continue;
        const std::string& machine = glass.effects[static_cast<std::size_t>(o.trend)].name;
        burned[machine][{glass.glass, o.bottle}] = o.days_ago;
        spans[machine].days = std::max(spans[machine].days, o.days_ago);
        spans[machine].latest = glass.latest_day;
      }
    }
  }
  for (const auto& [machine, bottles] : burned) {
    Span& span = spans[machine];
    for (const auto& [bottle, days_ago] : bottles)
      ++(2 * days_ago > span.days ? span.early_bottles : span.late_bottles);
  }
  return spans;
}

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
        const double sharp = 1 / variance - 1 / (own * own);
        if (!(sharp > 0)) continue;
        double precision = sharp;
        if (effect.kind == EffectKind::trend) {
          const std::optional<double> blur =
              blur_of(glass.rows(r == 0 ? Response::frost : Response::chipping));
          if (!blur) continue;
          precision = sharp / (1 + sharp * *blur);
        }
        const double mean = c.effect_mean(at) / variance / sharp + assumed(effect, glass);
        told[g].push_back({{effect.kind, effect.name}, {g, r, precision, precision * mean}});
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

bool may_fail(const LocalEffect& effect, const std::map<std::string, Span>& spans) {
  const auto span = spans.find(effect.name);
  return effect.kind == EffectKind::trend && span != spans.end() && span->second.may_fail();
}

void set_priors(std::vector<GlassRows>& glasses,
                const std::map<EffectKey, std::vector<EffectMessage>>& messages,
                const std::map<std::string, Span>& spans) {
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
        const Belief belief = believed(prior_of(effect.kind, may_fail(effect, spans)), told, all);
        effect.mean[static_cast<std::size_t>(r)] = belief.mean - assumed(effect, glasses[g]);
        effect.sd[static_cast<std::size_t>(r)] = std::sqrt(belief.variance);
      }
    }
  }
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
                                                                 const SurfaceBasis& basis, Link link,
                                                                 const std::map<std::string, Span>& spans) {
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
        const double mean = believed(prior_of(effect.kind, may_fail(effect, spans)), all, all).mean;
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
  const std::map<std::string, Span> spans = spans_of(glasses);
  const std::map<EffectKey, std::vector<EffectMessage>> messages =
      settled_messages(glasses, basis, link, spans);
  set_priors(glasses, messages, spans);
  for (const auto& [key, told] : messages) {
    if (key.first != EffectKind::trend) continue;
    const Span& span = spans.at(key.second);
    const Told all = sum_of(told);
    const Belief belief = believed(prior_of(EffectKind::trend, span.may_fail()), all, all);
    PowerTrend trend;
    trend.machine = key.second;
    std::map<std::size_t, double> sources;
    for (const EffectMessage& m : told) sources[m.glass] += m.precision;
    for (const auto& [glass, precision] : sources)
      trend.glasses += precision > kTells * all.precision ? 1 : 0;
    trend.one_bottle = !span.may_fail();
    const double years = span.days / kDaysInYear;
    const double mean = belief.mean * years;
    const double half = kNinetyPercent * years * std::sqrt(belief.variance);
    trend.change = std::expm1(mean);
    trend.low = std::expm1(mean - half);
    trend.high = std::expm1(mean + half);
    trend.since = textfile::date_text(span.latest - span.days);
    trend.until = textfile::date_text(span.latest);
    trends.push_back(trend);
  }
  return trends;
}

}  // namespace frostcal::surface
