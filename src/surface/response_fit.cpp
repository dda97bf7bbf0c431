#include "surface/response_fit.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>

#include "errors/bug.hpp"
#include "numerics/stable_log.hpp"
#include "surface/cumulative_link.hpp"
#include "surface/expectation_propagation.hpp"
#include "surface/left_out_grades.hpp"

namespace frostcal::surface {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kKeptWeight = 0.99;  // of the posterior weight of the settings; the lightest are dropped
constexpr double kHopeless = 9;  // a setting with log evidence so far below the best isn't fitted to the end
constexpr double kRoughTolerance = 0.03;  // of sweeps for fits that only inform others
constexpr double kUnseenVariance = 1e-3;  // of the noise variance

/// The latent values at the cells but for the nested effects as a combination of few independent N(0, 1)
/// variables a: a pivoted Cholesky factor of their prior covariance, stopped where what is left is nothing
/// beside the grading noise.
struct Representation {
  Eigen::MatrixXd basis;       // cells x r: eta = offset + basis a
  Eigen::VectorXd offset;      // cells
  Eigen::MatrixXd to_weights;  // r x (p + crossing): weights = mean + to_weights' a + what no cell sees
};

/// A glass's local effects as nested groups of cells (burns within bottles), and the rest, which may cross
/// them. Cells and effects are those of one response.
struct LocalLayout {
  NestedGroups groups;            // scales not filled in; rows are cells
  std::vector<int> outer_effect;  // the groups' effects, -1 none
  std::vector<int> inner_effect;
  std::vector<int> crossing;        // effects
  Eigen::MatrixXd crossing_design;  // cells x crossing
};

LocalLayout layout_of(const GlassRows& glass, const ResponseRows& rows, const Eigen::MatrixXd& locals) {
  LocalLayout layout;
  std::map<int, std::set<int>> bottles_of_burn;
  for (const Occasion& o : rows.occasions) bottles_of_burn[o.burn].insert(o.bottle);
  std::map<int, int> outer;
  std::map<std::pair<int, int>, int> inner;
  std::vector<bool> nested(glass.effects.size(), false);
  for (const Occasion& o : rows.occasions) {
    const int burn = o.burn >= 0 && bottles_of_burn[o.burn].size() == 1 ? o.burn : -1;
    const auto [bottle_at, new_bottle] = outer.emplace(o.bottle, static_cast<int>(outer.size()));
    if (new_bottle) layout.outer_effect.push_back(o.bottle);
    const auto [burn_at, new_burn] = inner.emplace(std::pair(o.bottle, burn), static_cast<int>(inner.size()));
    if (new_burn) {
      layout.inner_effect.push_back(burn);
      layout.groups.outer_of_inner.push_back(bottle_at->second);
    }
    layout.groups.inner_of_row.push_back(burn_at->second);
    for (const int effect : {o.bottle, burn}) {
      if (effect >= 0) nested[static_cast<std::size_t>(effect)] = true;
    }
  }
  for (std::size_t e = 0; e < nested.size(); ++e) {
    if (!nested[e]) layout.crossing.push_back(static_cast<int>(e));
  }
  layout.crossing_design.resize(locals.rows(), static_cast<Eigen::Index>(layout.crossing.size()));
  for (std::size_t j = 0; j < layout.crossing.size(); ++j) {
    layout.crossing_design.col(static_cast<Eigen::Index>(j)) = locals.col(layout.crossing[j]);
  }
  return layout;
}

double sd_of_kind(EffectKind kind, const ScaleSetting& s) {
  switch (kind) {
    case EffectKind::bottle:
      return s.bottle_sd;
    case EffectKind::burn:
      return kBurnSd;
    case EffectKind::grader:
      return kGraderSd;
    case EffectKind::day:
      return kDaySd;
    case EffectKind::trend:
      return kTrendSd;
  }
  return 0;
}

/// Prior of the local effects under one setting of the scales.
struct LocalPrior {
  Eigen::VectorXd mean;
  Eigen::VectorXd sd;
};

LocalPrior local_prior(const GlassRows& rows, Response response, const ScaleSetting& s) {
  const std::size_t r = index_of(response);
  const Eigen::Index k = static_cast<Eigen::Index>(rows.effects.size());
  LocalPrior prior{Eigen::VectorXd::Zero(k), Eigen::VectorXd(k)};
  for (Eigen::Index i = 0; i < k; ++i) {
    const LocalEffect& effect = rows.effects[static_cast<std::size_t>(i)];
    prior.mean(i) = effect.mean[r];
    prior.sd(i) = effect.sd[r] > 0 ? effect.sd[r] : sd_of_kind(effect.kind, s);
  }
  return prior;
}

/// Each cell's features and crossing effects times their prior covariance: cells x (p + crossing).
Eigen::MatrixXd times_prior(const Eigen::MatrixXd& features, const LocalLayout& layout,
                            const WeightPrior& prior, const LocalPrior& local) {
  const Eigen::Index p = features.cols();
  Eigen::MatrixXd out(features.rows(), p + layout.crossing_design.cols());
  if (prior.covariance.size()) {
    out.leftCols(p).noalias() = features * prior.covariance;
  } else {
    out.leftCols(p) = features * prior.sd.cwiseAbs2().asDiagonal();
  }
  for (std::size_t j = 0; j < layout.crossing.size(); ++j) {
    const Eigen::Index at = static_cast<Eigen::Index>(j);
    const double sd = local.sd(layout.crossing[j]);
    out.col(p + at) = sd * sd * layout.crossing_design.col(at);
  }
  return out;
}

Representation represent(const Eigen::MatrixXd& features, const Eigen::MatrixXd& locals,
                         const LocalLayout& layout, const WeightPrior& prior, const LocalPrior& local,
                         double negligible) {
  const Eigen::Index n = features.rows();
  Eigen::MatrixXd all(n, features.cols() + layout.crossing_design.cols());
  all << features, layout.crossing_design;
  const Eigen::Index most = std::min(n, all.cols());
  const Eigen::MatrixXd weighted = times_prior(features, layout, prior, local);
  Eigen::VectorXd left = weighted.cwiseProduct(all).rowwise().sum();
  Eigen::MatrixXd basis(n, most);
  std::vector<Eigen::Index> pivots;
  while (static_cast<Eigen::Index>(pivots.size()) < most) {
    Eigen::Index pivot = 0;
    const double variance = left.maxCoeff(&pivot);
    if (variance < negligible) break;
    const Eigen::Index m = static_cast<Eigen::Index>(pivots.size());
    Eigen::VectorXd column = all * weighted.row(pivot).transpose();
    column.noalias() -= basis.leftCols(m) * basis.row(pivot).head(m).transpose();
    basis.col(m) = column / std::sqrt(variance);
    left -= basis.col(m).cwiseAbs2();
    pivots.push_back(pivot);
  }
  const Eigen::Index r = static_cast<Eigen::Index>(pivots.size());
  Representation rep;
  rep.basis = basis.leftCols(r);
  rep.offset = features * prior.mean + locals * local.mean;
  rep.to_weights.resize(r, all.cols());
  Eigen::MatrixXd at_pivots(r, r);
  for (Eigen::Index i = 0; i < r; ++i) {
    rep.to_weights.row(i) = weighted.row(pivots[i]);
    at_pivots.row(i) = rep.basis.row(pivots[i]);
  }
  at_pivots.triangularView<Eigen::Lower>().solveInPlace(rep.to_weights);
  return rep;
}

/// Scale of each group from the sd of its effect.
Eigen::VectorXd scales_of(const std::vector<int>& effects, const LocalPrior& local) {
  Eigen::VectorXd scale(static_cast<Eigen::Index>(effects.size()));
  for (Eigen::Index i = 0; i < scale.size(); ++i) {
    const int effect = effects[static_cast<std::size_t>(i)];
    scale(i) = effect < 0 ? 0.0 : local.sd(effect);
  }
  return scale;
}

NestedGroups groups_of(const LocalLayout& layout, const LocalPrior& local) {
  NestedGroups groups = layout.groups;
  groups.outer_scale = scales_of(layout.outer_effect, local);
  groups.inner_scale = scales_of(layout.inner_effect, local);
  return groups;
}

CumulativeLinkModel model_of(Response response, Link link, const ResponseRows& rows,
                             const Representation& rep, const LocalLayout& layout, const LocalPrior& local,
                             double noise) {
  const Eigen::Index n = static_cast<Eigen::Index>(rows.cell.size());
  const int gaps = categories(response) - 2;
  CumulativeLinkModel model;
  model.link = link;
  model.noise = noise;
  model.category = rows.highest;
  if (rows.lowest != rows.highest) model.lowest = rows.lowest;
  model.weight = rows.weight;
  model.groups = groups_of(layout, local);
  if (n == rep.basis.rows()) {  // then each cell has one row, in order
    model.design = rep.basis;
    model.offset = rep.offset;
  } else {
    model.design.resize(n, rep.basis.cols());
    model.offset.resize(n);
    model.groups.inner_of_row.resize(rows.cell.size());
    for (Eigen::Index i = 0; i < n; ++i) {
      model.design.row(i) = rep.basis.row(rows.cell[i]);
      model.offset(i) = rep.offset(rows.cell[i]);
      model.groups.inner_of_row[i] = layout.groups.inner_of_row[rows.cell[i]];
    }
  }
  model.cutpoint_offset =
      Eigen::VectorXd::LinSpaced(gaps + 1, kFirstCutpoint, kFirstCutpoint + gaps * kGapMean);
  model.cutpoint_map = Eigen::MatrixXd::Zero(gaps + 1, gaps);
  for (int j = 1; j <= gaps; ++j) model.cutpoint_map.row(j).head(j).setConstant(kGapSd);
  model.precision = Eigen::VectorXd::Ones(model.parameters());
  return model;
}

/// Gaussian posterior of theta = (gaps, a, bottles, burns), its log evidence, and the sites to start its
/// neighbours from.
struct Approximation {
  bool usable = false;
  bool converged = false;
  Eigen::VectorXd mean;
  ArrowFactor factor;  // of the precision
  double log_evidence = 0;
  std::vector<GradeSite> sites;
};

Approximation laplace(const CumulativeLinkModel& model) {
  PosteriorMode mode = find_mode(model, Eigen::VectorXd::Zero(model.parameters()));
  Approximation out;
  out.usable = mode.factor.positive() && std::isfinite(mode.at_mode.value);
  out.converged = mode.status == NewtonStatus::converged;
  if (!out.usable) return out;
  out.log_evidence = mode.log_evidence();
  out.mean = std::move(mode.theta);
  out.factor = std::move(mode.factor);
  return out;
}

/// Expectation propagation from the neighbour's sites (none: null) or else from Laplace's; Laplace where it
/// does not settle and for the logit. Not usable, and not a failure, when its evidence is clearly below
/// `floor`.
Approximation approximate(const CumulativeLinkModel& model, const std::vector<GradeSite>* start, double floor,
                          double tolerance) {
  if (model.link == Link::logit) return laplace(model);
  SweepOptions sweeps;
  sweeps.evidence_floor = floor;
  sweeps.tolerance = tolerance;
  MomentPosterior moments;
  if (start) moments = propagate(model, *start, sweeps);
  Approximation out;
  if (moments.status == SweepStatus::hopeless) {
    out.converged = true;
    return out;
  }
  if (moments.status != SweepStatus::converged) {
    out = laplace(model);
    if (!out.usable) return out;
    moments = propagate(model, sites_at(model, out.mean), sweeps);
    if (moments.status != SweepStatus::converged) return out;
  }
  out.usable = out.converged = true;
  out.log_evidence = moments.log_evidence;
  out.mean = std::move(moments.mean);
  out.factor = std::move(moments.factor);
  out.sites = std::move(moments.sites);
  return out;
}

ScaleComponent prior_component(const WeightPrior& prior, const LocalPrior& local, Eigen::Index gaps) {
  const Eigen::Index p = prior.mean.size();
  ScaleComponent c;
  c.mean = Eigen::VectorXd::Zero(p + gaps);
  c.mean.head(p) = prior.mean;
  c.covariance = Eigen::MatrixXd::Identity(p + gaps, p + gaps);
  if (prior.covariance.size()) {
    c.covariance.topLeftCorner(p, p) = prior.covariance;
  } else {
    c.covariance.diagonal().head(p) = prior.sd.cwiseAbs2();
  }
  c.effect_mean = local.mean;
  c.effect_variance = local.sd.cwiseAbs2();
  return c;
}

/// The prior's component, changed by what theta = (gaps, a, bottles, burns) learned.
ScaleComponent unpack(const Approximation& fitted, const Representation& rep, const LocalLayout& layout,
                      const WeightPrior& prior, const LocalPrior& local, Eigen::Index gaps) {
  const Eigen::Index p = prior.mean.size();
  const Eigen::Index r = rep.to_weights.rows();
  ScaleComponent c = prior_component(prior, local, gaps);
  Eigen::MatrixXd learned = fitted.factor.core_covariance();
  learned.diagonal().array() -= 1;

  const auto to_weights = rep.to_weights.leftCols(p);
  const Eigen::VectorXd a = fitted.mean.segment(gaps, r);
  c.mean.head(p) += to_weights.transpose() * a;
  c.mean.tail(gaps) = fitted.mean.head(gaps);
  const Eigen::MatrixXd half = learned.bottomRightCorner(r, r) * rep.to_weights;
  c.covariance.topLeftCorner(p, p).noalias() += to_weights.transpose() * half.leftCols(p);
  c.covariance.topRightCorner(p, gaps).noalias() = to_weights.transpose() * learned.bottomLeftCorner(r, gaps);
  c.covariance.bottomLeftCorner(gaps, p) = c.covariance.topRightCorner(p, gaps).transpose();
  c.covariance.bottomRightCorner(gaps, gaps) += learned.topLeftCorner(gaps, gaps);

  for (std::size_t j = 0; j < layout.crossing.size(); ++j) {
    const Eigen::Index at = p + static_cast<Eigen::Index>(j);
    c.effect_mean(layout.crossing[j]) += rep.to_weights.col(at).dot(a);
    c.effect_variance(layout.crossing[j]) += rep.to_weights.col(at).dot(half.col(at));
  }
  const Eigen::VectorXd variance = fitted.factor.variances();
  Eigen::Index at = gaps + r;
  for (const std::vector<int>* level : {&layout.outer_effect, &layout.inner_effect}) {
    for (const int effect : *level) {
      if (effect >= 0) {
        c.effect_mean(effect) += local.sd(effect) * fitted.mean(at);
        c.effect_variance(effect) *= variance(at);
      }
      ++at;
    }
  }
  return c;
}

/// Settings in falling order of noise: neighbours have much the same sites, and wide noise settles easily.
std::vector<Eigen::Index> by_noise(const std::vector<ScaleSetting>& settings) {
  std::vector<Eigen::Index> order(settings.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<Eigen::Index>(i);
  std::stable_sort(order.begin(), order.end(),
                   [&](Eigen::Index a, Eigen::Index b) { return settings[a].noise > settings[b].noise; });
  return order;
}

/// Fewest settings that hold this share of the weight, in order of index.
std::vector<Eigen::Index> heaviest(const Eigen::VectorXd& log_weight, double share) {
  std::vector<Eigen::Index> order(log_weight.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<Eigen::Index>(i);
  std::stable_sort(order.begin(), order.end(),
                   [&](Eigen::Index a, Eigen::Index b) { return log_weight(a) > log_weight(b); });
  const double total = numerics::log_sum_exp(log_weight);
  double held = 0;
  std::size_t count = 0;
  while (count < order.size() && held < share) held += std::exp(log_weight(order[count++]) - total);
  order.resize(count);
  std::sort(order.begin(), order.end());
  return order;
}

}  // namespace

ResponsePosterior fit_response(Response response, Link link, const GlassRows& glass,
                               const SurfaceBasis& basis, const std::vector<ScaleSetting>& settings,
                               const std::vector<WeightPrior>& priors, const Eigen::VectorXd& log_prior,
                               Keep keep, const std::vector<GradeSite>& start_sites) {
  const ResponseRows& rows = glass.rows(response);
  const int gaps = categories(response) - 2;
  const Eigen::Index count = static_cast<Eigen::Index>(settings.size());
  ResponsePosterior result;
  result.response = response;
  result.status = rows.empty() ? FitStatus::no_data : FitStatus::converged;

  const Eigen::Matrix4Xd u = burned_places(glass, rows);
  const Eigen::MatrixXd locals = local_design(glass, response, basis, u, rows.occasions);
  const LocalLayout layout = layout_of(glass, rows, locals);
  FeatureBlock block(basis, u);
  std::map<std::pair<int, double>, Eigen::MatrixXd> features;
  std::vector<Representation> representations(count);
  std::vector<Approximation> fitted(count);
  Eigen::VectorXd log_weight = log_prior;
  if (log_prior.size() == 0) {
    log_weight = Eigen::VectorXd::Constant(count, -std::log(static_cast<double>(count)));
  }
  const std::vector<GradeSite>* start = start_sites.empty() ? nullptr : &start_sites;
  const bool rough = keep == Keep::all;
  double best = -kInfinity;
  for (const Eigen::Index i : by_noise(settings)) {
    if (rows.empty()) break;
    const std::pair<int, double> key{settings[i].length_choice, priors[i].dose_shift};
    auto found = features.find(key);
    if (found == features.end()) {
      found = features.emplace(key, block.evaluate(key.first, key.second)).first;
    }
    const LocalPrior local = local_prior(glass, response, settings[i]);
    representations[i] = represent(found->second, locals, layout, priors[i], local,
                                   kUnseenVariance * settings[i].noise * settings[i].noise);
    const CumulativeLinkModel model =
        model_of(response, link, rows, representations[i], layout, local, settings[i].noise);
    fitted[i] = approximate(model, start, rough ? -kInfinity : best - kHopeless - log_weight(i),
                            rough ? kRoughTolerance : SweepOptions().tolerance);
    if (!fitted[i].converged) result.status = FitStatus::not_converged;
    log_weight(i) = fitted[i].usable ? log_weight(i) + fitted[i].log_evidence : -kInfinity;
    best = std::max(best, log_weight(i));
    if (!fitted[i].sites.empty()) start = &fitted[i].sites;
  }
  const double total = numerics::log_sum_exp(log_weight);
  FROSTCAL_ASSERT(std::isfinite(total), "no scale setting could be fitted");
  result.log_evidence = total;
  const std::vector<Eigen::Index> kept = heaviest(log_weight, rough ? 2.0 : kKeptWeight);
  Eigen::VectorXd weights(static_cast<Eigen::Index>(kept.size()));
  for (std::size_t k = 0; k < kept.size(); ++k) {
    weights(static_cast<Eigen::Index>(k)) = std::exp(log_weight(kept[k]) - total);
  }
  weights /= weights.sum();
  std::vector<Eigen::MatrixXd> left_out;
  for (std::size_t k = 0; k < kept.size(); ++k) {
    const Eigen::Index i = kept[k];
    const LocalPrior local = local_prior(glass, response, settings[i]);
    ScaleComponent c = rows.empty() ? prior_component(priors[i], local, gaps)
                                    : unpack(fitted[i], representations[i], layout, priors[i], local, gaps);
    c.weight = weights(static_cast<Eigen::Index>(k));
    c.log_evidence = fitted[i].log_evidence;
    c.length_choice = settings[i].length_choice;
    c.dose_shift = priors[i].dose_shift;
    c.pooled = priors[i].pooled;
    c.noise = settings[i].noise;
    c.bottle_sd = settings[i].bottle_sd;
    c.new_bottle_variance = c.bottle_sd * c.bottle_sd + kBurnSd * kBurnSd + kGraderSd * kGraderSd;
    result.components.push_back(std::move(c));
    if (keep != Keep::predictions || rows.empty()) continue;
    const CumulativeLinkModel model =
        model_of(response, link, rows, representations[i], layout, local, settings[i].noise);
    left_out.push_back(left_out_probabilities(model, fitted[i].mean, fitted[i].factor, fitted[i].sites));
    if (k + 1 == kept.size()) result.left_out = mixed_left_out(model, left_out, weights);
  }
  if (start && !rows.empty()) result.sites = *start;
  return result;
}

}  // namespace frostcal::surface
