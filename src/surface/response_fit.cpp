#include "surface/response_fit.hpp"

#include <Eigen/Cholesky>
#include <cmath>
#include <limits>
#include <map>

#include "errors/bug.hpp"
#include "numerics/stable_log.hpp"
#include "surface/cumulative_link.hpp"

namespace frostcal::surface {
namespace {

constexpr double kSmallestWeight = 1e-3;  // of the largest; lighter components are dropped
constexpr double kJitter = 1e-9;

/// Prior and features of surface weights and local effects together, in a form that lets the fit run in
/// whichever is smaller: the cells or the weights.
struct Representation {
  bool by_cells = false;
  Eigen::MatrixXd basis;       // cells x r: eta = offset + basis a, a ~ N(0, I)
  Eigen::VectorXd offset;      // cells
  Eigen::MatrixXd to_weights;  // r x (p + k): weights = mean + to_weights' a (+ the part that no cell sees)
};

Eigen::MatrixXd local_design(const ResponseRows& rows, int effects) {
  Eigen::MatrixXd m = Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(rows.effects.size()), effects);
  for (std::size_t i = 0; i < rows.effects.size(); ++i) {
    for (const int e : rows.effects[i]) {
      if (e >= 0) m(static_cast<Eigen::Index>(i), e) += 1;
    }
  }
  return m;
}

Eigen::VectorXd local_sd(const GlassRows& rows, const ScaleSetting& s) {
  Eigen::VectorXd sd(static_cast<Eigen::Index>(rows.effects.size()));
  for (Eigen::Index i = 0; i < sd.size(); ++i) {
    const EffectKind kind = rows.effects[i].kind;
    sd(i) = kind == EffectKind::bottle ? s.bottle_sd : kind == EffectKind::burn ? kBurnSd : kGraderSd;
  }
  return sd;
}

Eigen::MatrixXd prior_times(const WeightPrior& prior, const Eigen::VectorXd& local,
                            const Eigen::MatrixXd& right) {
  const Eigen::Index p = prior.mean.size();
  Eigen::MatrixXd out(right.rows(), right.cols());
  if (prior.covariance.size()) {
    out.topRows(p).noalias() = prior.covariance * right.topRows(p);
  } else {
    out.topRows(p) = prior.sd.cwiseAbs2().asDiagonal() * right.topRows(p);
  }
  out.bottomRows(local.size()) = local.cwiseAbs2().asDiagonal() * right.bottomRows(local.size());
  return out;
}

Representation represent(const Eigen::MatrixXd& features, const Eigen::MatrixXd& locals,
                         const WeightPrior& prior, const Eigen::VectorXd& local) {
  const Eigen::Index n = features.rows();
  const Eigen::Index p = features.cols();
  const Eigen::Index k = locals.cols();
  Representation rep;
  rep.by_cells = n <= p + k;
  rep.offset = features * prior.mean;
  if (rep.by_cells) {
    Eigen::MatrixXd all(p + k, n);
    all << features.transpose(), locals.transpose();
    const Eigen::MatrixXd weighted = prior_times(prior, local, all);
    Eigen::MatrixXd gram = all.transpose() * weighted;
    gram.diagonal().array() += kJitter * (1 + gram.diagonal().mean());
    const Eigen::LLT<Eigen::MatrixXd> llt(gram);
    FROSTCAL_ASSERT(llt.info() == Eigen::Success, "prior covariance of the cells is not positive definite");
    rep.basis = llt.matrixL();
    rep.to_weights = weighted.transpose();
    rep.basis.triangularView<Eigen::Lower>().solveInPlace(rep.to_weights);
    return rep;
  }
  rep.to_weights = Eigen::MatrixXd::Zero(p + k, p + k);
  if (prior.covariance.size()) {
    const Eigen::LLT<Eigen::MatrixXd> llt(prior.covariance);
    FROSTCAL_ASSERT(llt.info() == Eigen::Success, "prior covariance of the weights is not positive definite");
    rep.to_weights.topLeftCorner(p, p) = Eigen::MatrixXd(llt.matrixL()).transpose();
  } else {
    rep.to_weights.topLeftCorner(p, p) = prior.sd.asDiagonal();
  }
  rep.to_weights.bottomRightCorner(k, k) = local.asDiagonal();
  rep.basis.resize(n, p + k);
  if (prior.covariance.size()) {
    rep.basis.leftCols(p).noalias() = features * rep.to_weights.topLeftCorner(p, p).transpose();
  } else {
    rep.basis.leftCols(p) = features * prior.sd.asDiagonal();
  }
  rep.basis.rightCols(k) = locals * local.asDiagonal();
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

/// Mean and covariance of (weights, local effects, gaps) from the mode in (gaps, a).
void unpack(const PosteriorMode& mode, const Representation& rep, const WeightPrior& prior,
            const Eigen::VectorXd& local, int gaps, ScaleComponent& c) {
  const Eigen::Index p = prior.mean.size();
  const Eigen::Index pk = p + local.size();
  const Eigen::Index r = rep.to_weights.rows();
  const Eigen::MatrixXd s = mode.covariance();
  c.mean.resize(pk + gaps);
  c.mean.head(pk).noalias() = rep.to_weights.transpose() * mode.theta.tail(r);
  c.mean.head(p) += prior.mean;
  c.mean.tail(gaps) = mode.theta.head(gaps);
  c.covariance.resize(pk + gaps, pk + gaps);
  Eigen::MatrixXd inner = s.bottomRightCorner(r, r);
  if (rep.by_cells) inner.diagonal().array() -= 1;
  Eigen::MatrixXd half(r, pk);
  half.noalias() = inner * rep.to_weights;
  c.covariance.topLeftCorner(pk, pk).noalias() = rep.to_weights.transpose() * half;
  if (rep.by_cells) {
    if (prior.covariance.size()) {
      c.covariance.topLeftCorner(p, p) += prior.covariance;
    } else {
      c.covariance.diagonal().head(p) += prior.sd.cwiseAbs2();
    }
    c.covariance.diagonal().segment(p, local.size()) += local.cwiseAbs2();
  }
  c.covariance.topRightCorner(pk, gaps).noalias() = rep.to_weights.transpose() * s.bottomLeftCorner(r, gaps);
  c.covariance.bottomLeftCorner(gaps, pk) = c.covariance.topRightCorner(pk, gaps).transpose();
  c.covariance.bottomRightCorner(gaps, gaps) = s.topLeftCorner(gaps, gaps);
}

ScaleComponent prior_component(const WeightPrior& prior, const Eigen::VectorXd& local, int gaps) {
  const Eigen::Index p = prior.mean.size();
  const Eigen::Index size = p + local.size() + gaps;
  ScaleComponent c;
  c.mean = Eigen::VectorXd::Zero(size);
  c.mean.head(p) = prior.mean;
  c.covariance = Eigen::MatrixXd::Zero(size, size);
  if (prior.covariance.size()) {
    c.covariance.topLeftCorner(p, p) = prior.covariance;
  } else {
    c.covariance.diagonal().head(p) = prior.sd.cwiseAbs2();
  }
  c.covariance.diagonal().segment(p, local.size()) = local.cwiseAbs2();
  c.covariance.diagonal().tail(gaps).setOnes();
  return c;
}

}  // namespace

ResponsePosterior fit_response(Response response, Link link, const GlassRows& glass,
                               const SurfaceBasis& basis, const std::vector<ScaleSetting>& settings,
                               const std::vector<WeightPrior>& priors, const Eigen::VectorXd& log_prior) {
  const ResponseRows& rows = glass.rows(response);
  const int gaps = categories(response) - 2;
  const Eigen::Index count = static_cast<Eigen::Index>(settings.size());
  ResponsePosterior result;
  result.response = response;
  result.local_effects = static_cast<int>(glass.effects.size());
  result.status = rows.empty() ? FitStatus::no_data : FitStatus::converged;

  const Eigen::MatrixXd locals = local_design(rows, result.local_effects);
  std::map<std::pair<int, double>, Eigen::MatrixXd> features;
  std::vector<Representation> representations(count);
  std::vector<PosteriorMode> modes(count);
  Eigen::VectorXd log_weight = log_prior;
  if (log_prior.size() == 0) {
    log_weight = Eigen::VectorXd::Constant(count, -std::log(static_cast<double>(count)));
  }
  for (Eigen::Index i = 0; i < count && !rows.empty(); ++i) {
    const std::pair<int, double> key{settings[i].length_choice, priors[i].dose_shift};
    auto found = features.find(key);
    if (found == features.end()) {
      found = features.emplace(key, basis.evaluate(rows.u, key.first, key.second)).first;
    }
    representations[i] = represent(found->second, locals, priors[i], local_sd(glass, settings[i]));
    const CumulativeLinkModel model = model_of(response, link, rows, representations[i], settings[i].noise);
    modes[i] = find_mode(model, Eigen::VectorXd::Zero(model.parameters()));
    const bool usable = modes[i].cholesky.size() > 0 && std::isfinite(modes[i].at_mode.value);
    log_weight(i) =
        usable ? log_weight(i) + modes[i].log_evidence() : -std::numeric_limits<double>::infinity();
    if (modes[i].status != NewtonStatus::converged) result.status = FitStatus::not_converged;
  }
  const double total = numerics::log_sum_exp(log_weight);
  FROSTCAL_ASSERT(std::isfinite(total), "no scale setting could be fitted");
  result.log_evidence = total;
  const double floor = log_weight.maxCoeff() + std::log(kSmallestWeight);
  double kept = 0;
  for (Eigen::Index i = 0; i < count; ++i) {
    if (log_weight(i) < floor) continue;
    const Eigen::VectorXd local = local_sd(glass, settings[i]);
    ScaleComponent c;
    if (rows.empty()) c = prior_component(priors[i], local, gaps);
    if (!rows.empty()) unpack(modes[i], representations[i], priors[i], local, gaps, c);
    c.weight = std::exp(log_weight(i) - total);
    c.length_choice = settings[i].length_choice;
    c.dose_shift = priors[i].dose_shift;
    c.pooled = priors[i].pooled;
    c.noise = settings[i].noise;
    c.bottle_sd = settings[i].bottle_sd;
    c.new_bottle_variance = c.bottle_sd * c.bottle_sd + kBurnSd * kBurnSd + kGraderSd * kGraderSd;
    kept += c.weight;
    result.components.push_back(std::move(c));
  }
  for (ScaleComponent& c : result.components) c.weight /= kept;
  return result;
}

}  // namespace frostcal::surface
