#include "surface/response_fit.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "errors/bug.hpp"
#include "numerics/stable_log.hpp"
#include "surface/cumulative_link.hpp"
#include "surface/expectation_propagation.hpp"

namespace frostcal::surface {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kKeptWeight = 0.99;  // of the posterior weight of the settings; the lightest are dropped
constexpr double kHopeless = 9;  // a setting with log evidence so far below the best isn't fitted to the end
constexpr double kRoughTolerance = 0.03;  // of sweeps for fits that only inform others
constexpr double kUnseenVariance = 1e-3;  // of the noise variance

/// The latent values at the cells as a combination of few independent N(0, 1) variables a: a pivoted Cholesky
/// factor of their prior covariance, stopped where what is left is nothing beside the grading noise.
struct Representation {
  Eigen::MatrixXd basis;       // cells x r: eta = offset + basis a
  Eigen::VectorXd offset;      // cells
  Eigen::MatrixXd to_weights;  // r x (p + k): weights = mean + to_weights' a + the part that no cell sees
};

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

/// Each cell's features and local effects times their prior covariance: cells x (p + k).
Eigen::MatrixXd times_prior(const Eigen::MatrixXd& features, const Eigen::MatrixXd& locals,
                            const WeightPrior& prior, const Eigen::VectorXd& local) {
  Eigen::MatrixXd out(features.rows(), features.cols() + locals.cols());
  if (prior.covariance.size()) {
    out.leftCols(features.cols()).noalias() = features * prior.covariance;
  } else {
    out.leftCols(features.cols()) = features * prior.sd.cwiseAbs2().asDiagonal();
  }
  out.rightCols(locals.cols()) = locals * local.cwiseAbs2().asDiagonal();
  return out;
}

Representation represent(const Eigen::MatrixXd& features, const Eigen::MatrixXd& locals,
                         const WeightPrior& prior, const LocalPrior& local, double noise) {
  const Eigen::Index n = features.rows();
  const Eigen::Index most = std::min(n, features.cols() + locals.cols());
  Eigen::MatrixXd all(n, features.cols() + locals.cols());
  all << features, locals;
  const Eigen::MatrixXd weighted = times_prior(features, locals, prior, local.sd);
  Eigen::VectorXd left = weighted.cwiseProduct(all).rowwise().sum();
  const double negligible = kUnseenVariance * noise * noise;
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

CumulativeLinkModel model_of(Response response, Link link, const ResponseRows& rows,
                             const Representation& rep, double noise) {
  const Eigen::Index n = static_cast<Eigen::Index>(rows.cell.size());
  const int gaps = categories(response) - 2;
  CumulativeLinkModel model;
  model.link = link;
  model.noise = noise;
  model.category = rows.category;
  model.weight = rows.weight;
  if (n == rep.basis.rows()) {  // then each cell has one row, in order
    model.design = rep.basis;
    model.offset = rep.offset;
  } else {
    model.design.resize(n, rep.basis.cols());
    model.offset.resize(n);
    for (Eigen::Index i = 0; i < n; ++i) {
      model.design.row(i) = rep.basis.row(rows.cell[i]);
      model.offset(i) = rep.offset(rows.cell[i]);
    }
  }
  model.cutpoint_offset =
      Eigen::VectorXd::LinSpaced(gaps + 1, kFirstCutpoint, kFirstCutpoint + gaps * kGapMean);
  model.cutpoint_map = Eigen::MatrixXd::Zero(gaps + 1, gaps);
  for (int j = 1; j <= gaps; ++j) model.cutpoint_map.row(j).head(j).setConstant(kGapSd);
  model.precision = Eigen::VectorXd::Ones(model.parameters());
  return model;
}

/// Gaussian posterior of theta = (gaps, a), its log evidence, and the sites to start its neighbours from.
struct Approximation {
  bool usable = false;
  bool converged = false;
  Eigen::VectorXd mean;
  Eigen::MatrixXd cholesky;  // of the precision
  double log_evidence = 0;
  std::vector<GradeSite> sites;
  double share = 1;  // of each sweep's step, to start a neighbour with
};

Approximation laplace(const CumulativeLinkModel& model) {
  PosteriorMode mode = find_mode(model, Eigen::VectorXd::Zero(model.parameters()));
  Approximation out;
  out.usable = mode.cholesky.size() > 0 && std::isfinite(mode.at_mode.value);
  out.converged = mode.status == NewtonStatus::converged;
  if (!out.usable) return out;
  out.log_evidence = mode.log_evidence();
  out.mean = std::move(mode.theta);
  out.cholesky = std::move(mode.cholesky);
  return out;
}

/// Expectation propagation from the neighbour's sites or else from Laplace's; Laplace where it does not
/// settle and for the logit. Not usable, and not a failure, when its evidence is clearly below `floor`.
Approximation approximate(const CumulativeLinkModel& model, const Approximation* start, double floor,
                          double tolerance) {
  if (model.link == Link::logit) return laplace(model);
  SweepOptions sweeps;
  sweeps.evidence_floor = floor;
  sweeps.tolerance = tolerance;
  MomentPosterior moments;
  if (start) {
    sweeps.first_share = std::min(1.0, 1.1 * start->share);
    moments = propagate(model, start->sites, sweeps);
  }

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
  out.cholesky = std::move(moments.cholesky);
  out.sites = std::move(moments.sites);
  out.share = moments.share;
  return out;
}

/// Mean and covariance of (weights, local effects, gaps).
void unpack(const Approximation& fitted, const Representation& rep, const WeightPrior& prior,
            const LocalPrior& local, int gaps, ScaleComponent& c) {
  const Eigen::Index p = prior.mean.size();
  const Eigen::Index pk = p + local.sd.size();
  const Eigen::Index r = rep.to_weights.rows();
  Eigen::MatrixXd inverse = Eigen::MatrixXd::Identity(gaps + r, gaps + r);
  fitted.cholesky.triangularView<Eigen::Lower>().solveInPlace(inverse);
  const Eigen::MatrixXd s = inverse.transpose() * inverse;
  c.mean.resize(pk + gaps);
  c.mean.head(pk).noalias() = rep.to_weights.transpose() * fitted.mean.tail(r);
  c.mean.head(p) += prior.mean;
  c.mean.segment(p, local.mean.size()) += local.mean;
  c.mean.tail(gaps) = fitted.mean.head(gaps);
  c.covariance.resize(pk + gaps, pk + gaps);
  Eigen::MatrixXd inner = s.bottomRightCorner(r, r);
  inner.diagonal().array() -= 1;
  Eigen::MatrixXd half(r, pk);
  half.noalias() = inner * rep.to_weights;
  c.covariance.topLeftCorner(pk, pk).noalias() = rep.to_weights.transpose() * half;
  if (prior.covariance.size()) {
    c.covariance.topLeftCorner(p, p) += prior.covariance;
  } else {
    c.covariance.diagonal().head(p) += prior.sd.cwiseAbs2();
  }
  c.covariance.diagonal().segment(p, local.sd.size()) += local.sd.cwiseAbs2();
  c.covariance.topRightCorner(pk, gaps).noalias() = rep.to_weights.transpose() * s.bottomLeftCorner(r, gaps);
  c.covariance.bottomLeftCorner(gaps, pk) = c.covariance.topRightCorner(pk, gaps).transpose();
  c.covariance.bottomRightCorner(gaps, gaps) = s.topLeftCorner(gaps, gaps);
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

ScaleComponent prior_component(const WeightPrior& prior, const LocalPrior& local, int gaps) {
  const Eigen::Index p = prior.mean.size();
  const Eigen::Index size = p + local.sd.size() + gaps;
  ScaleComponent c;
  c.mean = Eigen::VectorXd::Zero(size);
  c.mean.head(p) = prior.mean;
  c.mean.segment(p, local.mean.size()) = local.mean;
  c.covariance = Eigen::MatrixXd::Zero(size, size);
  if (prior.covariance.size()) {
    c.covariance.topLeftCorner(p, p) = prior.covariance;
  } else {
    c.covariance.diagonal().head(p) = prior.sd.cwiseAbs2();
  }
  c.covariance.diagonal().segment(p, local.sd.size()) = local.sd.cwiseAbs2();
  c.covariance.diagonal().tail(gaps).setOnes();
  return c;
}

}  // namespace

ResponsePosterior fit_response(Response response, Link link, const GlassRows& glass,
                               const SurfaceBasis& basis, const std::vector<ScaleSetting>& settings,
                               const std::vector<WeightPrior>& priors, const Eigen::VectorXd& log_prior,
                               Keep keep) {
  const ResponseRows& rows = glass.rows(response);
  const int gaps = categories(response) - 2;
  const Eigen::Index count = static_cast<Eigen::Index>(settings.size());
  ResponsePosterior result;
  result.response = response;
  result.local_effects = static_cast<int>(glass.effects.size());
  result.status = rows.empty() ? FitStatus::no_data : FitStatus::converged;

  const Eigen::MatrixXd locals = local_design(glass, response, basis, rows.u, rows.occasions);
  std::map<std::pair<int, double>, Eigen::MatrixXd> features;
  std::vector<Representation> representations(count);
  std::vector<Approximation> fitted(count);
  Eigen::VectorXd log_weight = log_prior;
  if (log_prior.size() == 0) {
    log_weight = Eigen::VectorXd::Constant(count, -std::log(static_cast<double>(count)));
  }
  const Approximation* start = nullptr;
  double best = -kInfinity;
  for (const Eigen::Index i : by_noise(settings)) {
    if (rows.empty()) break;
    const std::pair<int, double> key{settings[i].length_choice, priors[i].dose_shift};
    auto found = features.find(key);
    if (found == features.end()) {
      found = features.emplace(key, basis.evaluate(rows.u, key.first, key.second)).first;
    }
    representations[i] = represent(found->second, locals, priors[i],
                                   local_prior(glass, response, settings[i]), settings[i].noise);
    const CumulativeLinkModel model = model_of(response, link, rows, representations[i], settings[i].noise);
    fitted[i] = approximate(model, start, keep == Keep::all ? -kInfinity : best - kHopeless - log_weight(i),
                            keep == Keep::all ? kRoughTolerance : SweepOptions().tolerance);
    if (!fitted[i].converged) result.status = FitStatus::not_converged;
    log_weight(i) = fitted[i].usable ? log_weight(i) + fitted[i].log_evidence : -kInfinity;
    best = std::max(best, log_weight(i));
    if (!fitted[i].sites.empty()) start = &fitted[i];
  }
  const double total = numerics::log_sum_exp(log_weight);
  FROSTCAL_ASSERT(std::isfinite(total), "no scale setting could be fitted");
  result.log_evidence = total;
  for (const Eigen::Index i : heaviest(log_weight, keep == Keep::all ? 2.0 : kKeptWeight)) {
    const LocalPrior local = local_prior(glass, response, settings[i]);
    ScaleComponent c;
    if (rows.empty()) c = prior_component(priors[i], local, gaps);
    if (!rows.empty()) unpack(fitted[i], representations[i], priors[i], local, gaps, c);
    c.weight = std::exp(log_weight(i) - total);
    c.log_evidence = fitted[i].log_evidence;
    c.length_choice = settings[i].length_choice;
    c.dose_shift = priors[i].dose_shift;
    c.pooled = priors[i].pooled;
    c.noise = settings[i].noise;
    c.bottle_sd = settings[i].bottle_sd;
    c.new_bottle_variance = c.bottle_sd * c.bottle_sd + kBurnSd * kBurnSd + kGraderSd * kGraderSd;
    result.components.push_back(std::move(c));
  }
  double kept = 0;
  for (const ScaleComponent& c : result.components) kept += c.weight;
  for (ScaleComponent& c : result.components) c.weight /= kept;
  return result;
}

}  // namespace frostcal::surface
