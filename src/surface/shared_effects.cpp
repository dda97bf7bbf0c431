#include "surface/shared_effects.hpp"

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "numerics/parallel_for.hpp"
#include "surface/glass_sketch.hpp"
#include "surface/surface_prior.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::surface {
namespace {

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

using Mixture = std::vector<std::pair<Normal, double>>;  // with shares, in any unit

/// A trend's prior is a mixture of two normals where the machine `may_fail` (surface_prior.hpp).
Mixture trend_prior(bool may_fail) {
  if (!may_fail) return {{{0, kLoneTrendSd}, 1.0}};
  return {{{0, kTrendSd}, 1 - kFailingShare}, {{kFailingTrend, kFailingTrendSd}, kFailingShare}};
}

/// What is believed of an effect by the messages that are `heard`. Which of a mixture's parts it comes from
/// is judged by `all` messages.
Belief believed(const Mixture& prior, const Told& heard, const Told& all) {
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

using Messages = std::map<EffectKey, std::vector<EffectMessage>>;

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

/// The days over which grids were burned, and how many bottles were in either half of them.
struct Span {
  int days = 0;
  int latest = 0;
  int early_bottles = 0;
  int late_bottles = 0;
  double years() const { return days / kDaysInYear; }
  bool several_bottles() const { return std::min(early_bottles, late_bottles) >= kBottlesToFail; }
};

using BurnedBottles = std::map<std::pair<std::string, int>, int>;  // glass and bottle: days ago

BurnedBottles bottles_of(const GlassRows& glass) {
  BurnedBottles burned;
  for (const ResponseRows* rows : {&glass.frost, &glass.chipping}) {
    for (const Occasion& o : rows->occasions) {
      if (o.trend >= 0 && !o.piece) burned[{glass.glass, o.bottle}] = o.days_ago;
    }
  }
  return burned;
}

Span span_of(const BurnedBottles& burned, int latest) {
  Span span;
  span.latest = latest;
  int newest = std::numeric_limits<int>::max();
  for (const auto& [bottle, days_ago] : burned) {
    span.days = std::max(span.days, days_ago);
    newest = std::min(newest, days_ago);
  }
  for (const auto& [bottle, days_ago] : burned)
    ++(2 * days_ago > span.days + newest ? span.early_bottles : span.late_bottles);
  return span;
}

std::string trend_machine(const GlassRows& glass) {
  for (const LocalEffect& effect : glass.effects) {
    if (effect.kind == EffectKind::trend) return effect.name;
  }
  return "";
}

/// Of each machine, over all its glasses.
std::map<std::string, Span> spans_of(const std::vector<GlassRows>& glasses) {
  std::map<std::string, BurnedBottles> burned;
  std::map<std::string, int> latest;
  for (const GlassRows& glass : glasses) {
    const BurnedBottles own = bottles_of(glass);
    if (own.empty()) continue;
    burned[trend_machine(glass)].insert(own.begin(), own.end());
    latest[trend_machine(glass)] = glass.latest_day;
  }
  std::map<std::string, Span> spans;
  for (const auto& [machine, bottles] : burned) spans[machine] = span_of(bottles, latest[machine]);
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

Messages gather_messages(const std::vector<GlassRows>& glasses, const SurfaceBasis& basis, Link link) {
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
  Messages messages;
  for (const auto& one : told) {
    for (const auto& [key, message] : one) messages[key].push_back(message);
  }
  return messages;
}

/// What one glass tells of its machine's trend, both responses together.
struct TrendSource {
  std::size_t glass = 0;
  Told told;
  double years = 0;                                        // between its first swatch and its last
  bool several_bottles = false;                            // on either side: one odd bottle is no other glass
  double own_sd() const { return kOtherGlassSd / years; }  // of a change of its own, per year
};

/// The posterior of one machine's trend on a raster, under each part of its prior.
class TrendPosterior {
 public:
  TrendPosterior(Mixture prior, std::vector<TrendSource> sources)
      : prior_(std::move(prior)), sources_(std::move(sources)) {
    double low = 0;
    double high = 0;
    for (const auto& [part, share] : prior_) {
      low = std::min(low, part.mean - kReach * part.sd);
      high = std::max(high, part.mean + kReach * part.sd);
    }
    raster_ = Eigen::ArrayXd::LinSpaced(kPoints, low, high);
    all_ = Eigen::ArrayXd::Zero(kPoints);
    for (const TrendSource& source : sources_) all_ += log_likelihood(source);
  }

  const std::vector<TrendSource>& sources() const { return sources_; }
  const TrendSource* source(std::size_t glass) const {
    for (const TrendSource& one : sources_) {
      if (one.glass == glass) return &one;
    }
    return nullptr;
  }

  /// What is believed of the trend by all messages.
  Mixture believed() const { return parts(all_); }

  /// What a glass feels, by what all other glasses tell: the trend, and the same with a change of its own.
  Mixture felt_by(const TrendSource& glass) const {
    Mixture trend = parts(all_ - log_likelihood(glass));
    if (!glass.several_bottles) return trend;
    Mixture felt;
    for (const auto& [part, share] : trend) {
      felt.push_back({part, (1 - kOtherGlassShare) * share});
      felt.push_back({{part.mean, std::hypot(part.sd, glass.own_sd())}, kOtherGlassShare * share});
    }
    return felt;
  }

  /// How probable it is, by all messages, that the glass has a change of its own.
  double other_glass(const TrendSource& glass) const {
    if (!glass.several_bottles) return 0;
    const Mixture felt = felt_by(glass);
    double own = 0;
    double total = 0;
    for (std::size_t i = 0; i < felt.size(); ++i) {
      const double weight = felt[i].second * evidence(felt[i].first, glass.told);
      total += weight;
      if (i % 2 == 1) own += weight;
    }
    return total > 0 ? own / total : 0;
  }

  double mean() const { return weights().matrix().dot(raster_.matrix()); }
  double quantile(double share) const {
    const Eigen::ArrayXd weight = weights();
    double below = 0;
    for (Eigen::Index k = 0; k < kPoints; ++k) {
      if (below + weight(k) >= share) {
        const double step = raster_(1) - raster_(0);
        return raster_(k) + step * ((share - below) / weight(k) - 0.5);
      }
      below += weight(k);
    }
    return raster_(kPoints - 1);
  }

 private:
  static constexpr Eigen::Index kPoints = 801;
  static constexpr double kReach = 5;  // standard deviations

  static double evidence(const Normal& part, const Told& told) {
    const double variance = part.sd * part.sd + 1 / told.precision;
    const double off = told.vector / told.precision - part.mean;
    return std::exp(-0.5 * off * off / variance) / std::sqrt(variance);
  }

  Eigen::ArrayXd log_likelihood(const TrendSource& source) const {
    const double variance = 1 / source.told.precision;
    const Eigen::ArrayXd square = (raster_ - source.told.vector * variance).square();
    const double wide = variance + source.own_sd() * source.own_sd();
    return ((1 - kOtherGlassShare) / std::sqrt(variance) * (-0.5 * square / variance).exp() +
            kOtherGlassShare / std::sqrt(wide) * (-0.5 * square / wide).exp() + kLeast)
        .log();
  }

  Eigen::ArrayXd log_prior(const std::pair<Normal, double>& part) const {
    return -0.5 * ((raster_ - part.first.mean) / part.first.sd).square() +
           std::log(part.second / part.first.sd);
  }

  Mixture parts(const Eigen::ArrayXd& log_likelihood) const {
    double highest = -std::numeric_limits<double>::infinity();
    for (const auto& part : prior_)
      highest = std::max(highest, (log_prior(part) + log_likelihood).maxCoeff());
    Mixture posterior;
    for (const auto& part : prior_) {
      const Eigen::ArrayXd weight = (log_prior(part) + log_likelihood - highest).exp();
      const double total = weight.sum();
      if (!(total > 0)) continue;
      const double mean = (weight * raster_).sum() / total;
      const double variance = (weight * (raster_ - mean).square()).sum() / total;
      posterior.push_back({{mean, std::sqrt(variance)}, total});
    }
    return posterior;
  }

  Eigen::ArrayXd weights() const {
    Eigen::ArrayXd sum = Eigen::ArrayXd::Zero(kPoints);
    double highest = -std::numeric_limits<double>::infinity();
    for (const auto& part : prior_) highest = std::max(highest, (log_prior(part) + all_).maxCoeff());
    for (const auto& part : prior_) sum += (log_prior(part) + all_ - highest).exp();
    return sum / sum.sum();
  }

  static constexpr double kLeast = 1e-300;
  Mixture prior_;
  std::vector<TrendSource> sources_;
  Eigen::ArrayXd raster_;
  Eigen::ArrayXd all_;  // log likelihood of all messages
};

using TrendPosteriors = std::map<std::string, TrendPosterior>;  // by machine

/// Whether a second glass can bear out what the first tells.
bool several_tell(const std::vector<TrendSource>& sources) {
  constexpr double kBearsOut = 0.2;  // of the first one's precision
  double first = 0;
  double second = 0;
  for (const TrendSource& source : sources) {
    second = std::max(second, std::min(first, source.told.precision));
    first = std::max(first, source.told.precision);
  }
  return second > kBearsOut * first;
}

TrendPosteriors trends_of(const std::vector<GlassRows>& glasses, const Messages& messages,
                          const std::map<std::string, Span>& spans) {
  TrendPosteriors trends;
  for (const auto& [key, told] : messages) {
    if (key.first != EffectKind::trend) continue;
    std::vector<TrendSource> sources;
    for (const EffectMessage& m : told) {
      if (sources.empty() || sources.back().glass != m.glass) {
        const GlassRows& glass = glasses[m.glass];
        const Span own = span_of(bottles_of(glass), glass.latest_day);
        sources.push_back({m.glass, {}, own.years(), own.several_bottles()});
      }
      sources.back().told.precision += m.precision;
      sources.back().told.vector += m.vector;
    }
    const bool may_fail = spans.at(key.second).several_bottles() && several_tell(sources);
    trends.emplace(key.second, TrendPosterior(trend_prior(may_fail), std::move(sources)));
  }
  return trends;
}

/// The messages that one response of a glass hears. Of a trend only the glass's own: what the others tell of
/// it is in TrendPosterior.
Told heard_by(const std::vector<EffectMessage>& messages, EffectKind kind, std::size_t glass, int response) {
  Told told;
  for (const EffectMessage& m : messages) {
    const bool own = m.glass == glass;
    const bool same_response = m.response == response;
    const bool heard = kind == EffectKind::grader ? same_response && !own
                       : kind == EffectKind::day  ? !same_response || !own
                                                  : !same_response && own;
    if (!heard) continue;
    told.precision += m.precision;
    told.vector += m.vector;
  }
  return told;
}

/// By the messages that are `heard`, of both responses where nothing is.
Belief felt_trend(const TrendPosterior& trend, std::size_t glass, const std::optional<Told>& heard) {
  const TrendSource* own = trend.source(glass);
  if (own == nullptr) return believed(trend.believed(), {}, {});
  return believed(trend.felt_by(*own), heard.value_or(own->told), own->told);
}

void set_priors(std::vector<GlassRows>& glasses, const Messages& messages, const TrendPosteriors& trends) {
  for (std::size_t g = 0; g < glasses.size(); ++g) {
    for (LocalEffect& effect : glasses[g].effects) {
      const auto found = messages.find({effect.kind, effect.name});
      if (found == messages.end()) continue;
      const auto trend = trends.find(effect.name);
      for (int r = 0; r < 2; ++r) {
        const Told heard = heard_by(found->second, effect.kind, g, r);
        const Belief belief = effect.kind == EffectKind::trend
                                  ? felt_trend(trend->second, g, heard)
                                  : believed({{{0, prior_sd(effect.kind)}, 1.0}}, heard, heard);
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

struct SettledEffects {
  Messages messages;
  TrendPosteriors trends;  // by these messages
};

/// The effects of dated kinds act by slopes, which are those of a surface blurred by the trend, at places
/// that it moves: so what the first messages say of it is assumed and the messages are gathered anew.
SettledEffects settled_effects(std::vector<GlassRows>& glasses, const SurfaceBasis& basis, Link link,
                               const std::map<std::string, Span>& spans) {
  for (int round = 0;; ++round) {
    set_slopes(glasses, basis, link);
    Messages messages = gather_messages(glasses, basis, link);
    TrendPosteriors trends = trends_of(glasses, messages, spans);
    double moved = 0;
    for (std::size_t g = 0; g < glasses.size(); ++g) {
      const auto found = trends.find(trend_machine(glasses[g]));
      if (found == trends.end()) continue;
      const double mean = felt_trend(found->second, g, std::nullopt).mean;
      moved = std::max(moved, std::abs(mean - glasses[g].assumed_trend));
      if (round < kTrendRounds) glasses[g].assumed_trend = mean;
    }
    if (moved < kTrendSettled || round == kTrendRounds) return {std::move(messages), std::move(trends)};
  }
}

/// Glasses that tell something of note.
int telling_glasses(const TrendPosterior& trend) {
  double total = 0;
  for (const TrendSource& source : trend.sources()) total += source.told.precision;
  int telling = 0;
  for (const TrendSource& source : trend.sources()) telling += source.told.precision > kTells * total ? 1 : 0;
  return telling;
}

}  // namespace

double delivered_share(const std::vector<PowerTrend>& trends, const std::string& from,
                       const std::string& to) {
  double share = 1;
  for (const PowerTrend& trend : trends) {
    if (trend.machine == from) share *= 1 + trend.change;
    if (trend.machine == to) share /= 1 + trend.change;
  }
  return share;
}

std::vector<PowerTrend> share_effects(std::vector<GlassRows>& glasses, const SurfaceBasis& basis, Link link) {
  std::vector<PowerTrend> told;
  if (!worth_sharing(glasses)) return told;
  const std::map<std::string, Span> spans = spans_of(glasses);
  const auto [messages, trends] = settled_effects(glasses, basis, link, spans);
  set_priors(glasses, messages, trends);
  for (const auto& [machine, posterior] : trends) {
    const Span& span = spans.at(machine);
    PowerTrend trend;
    trend.machine = machine;
    trend.glasses = telling_glasses(posterior);
    trend.one_bottle = !span.several_bottles();
    trend.change = std::expm1(span.years() * posterior.mean());
    trend.low = std::expm1(span.years() * posterior.quantile(0.05));
    trend.high = std::expm1(span.years() * posterior.quantile(0.95));
    trend.since = textfile::date_text(span.latest - span.days);
    trend.until = textfile::date_text(span.latest);
    told.push_back(trend);
    for (const TrendSource& source : posterior.sources()) {
      GlassRows& glass = glasses[source.glass];
      glass.other_glass = posterior.other_glass(source);
      glass.change = std::expm1(source.years * felt_trend(posterior, source.glass, std::nullopt).mean);
    }
  }
  return told;
}

}  // namespace frostcal::surface
