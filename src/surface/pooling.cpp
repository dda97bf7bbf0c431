#include "surface/pooling.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "numerics/parallel_for.hpp"
#include "numerics/quadratic_form.hpp"
#include "numerics/stable_log.hpp"
#include "surface/glass_sketch.hpp"

namespace frostcal::surface {
namespace {

constexpr int kPooledSettings = 4;
/// Degree of pooling of each pooled setting: share of a surface's prior variance that the shop has in common.
constexpr std::array<double, kPooledSettings> kPooling{0.80, 0.40, 0.60, 0.90};
constexpr double kPoolingProbability = 0.5;        // prior probability that a glass resembles the shop
constexpr double kDoseShiftSd = 0.3 / kDoseScale;  // of a glass along u1: 0.3 in ln dose
constexpr std::array<double, 5> kShifts{-0.8, -0.4, 0.0, 0.4, 0.8};
constexpr double kLargestAlignment = 1.2;
constexpr double kAlignmentStep = 0.2;
constexpr Eigen::Index kAlignmentPlaces = 40;  // of one glass and response, at most

/// Mean and variance of one response's surface at some of the glass's own places.
struct OwnSurface {
  FeatureBlock places;
  Eigen::VectorXd mean;
  Eigen::VectorXd variance;
};

void surface_at(const ScaleComponent& c, FeatureBlock& places, double shift, Eigen::VectorXd& mean,
                Eigen::VectorXd& variance) {
  const Eigen::MatrixXd f = places.evaluate(c.length_choice, shift);
  const Eigen::Index p = f.cols();
  mean = f * c.mean.head(p);
  variance = numerics::quadratic_forms(f, c.covariance.topLeftCorner(p, p));
}

OwnSurface own_surface(const GlassRows& glass, const GlassSketch& sketch, Response response,
                       const SurfaceBasis& basis) {
  const ResponseRows& rows = glass.rows(response);
  const Eigen::Index places = std::min(rows.u.cols(), kAlignmentPlaces);
  Eigen::Matrix4Xd u(4, places);
  for (Eigen::Index i = 0; i < places; ++i) u.col(i) = rows.u.col(i * rows.u.cols() / places);
  OwnSurface own{FeatureBlock(basis, std::move(u)), {}, {}};
  if (places > 0) surface_at(sketch.response[index_of(response)], own.places, 0, own.mean, own.variance);
  return own;
}

/// The shift along u1 at which the base's surface agrees best with the glass's own: least sum of squared
/// distances in units of both variances and one grading's noise, with the prior of the shift.
double aligned_shift(const GlassSketch& base, const GlassRows& glass, const GlassSketch& sketch,
                     const SurfaceBasis& basis) {
  OwnSurface own[2] = {own_surface(glass, sketch, Response::frost, basis),
                       own_surface(glass, sketch, Response::chipping, basis)};
  const int steps = static_cast<int>(std::lround(kLargestAlignment / kAlignmentStep));
  double best = 0;
  double least = std::numeric_limits<double>::infinity();
  for (int i = -steps; i <= steps; ++i) {
    const double shift = i * kAlignmentStep;
    double sum = shift * shift / (kDoseShiftSd * kDoseShiftSd);
    for (int r = 0; r < 2; ++r) {
      if (own[r].mean.size() == 0) continue;
      Eigen::VectorXd mean, variance;
      surface_at(base.response[r], own[r].places, shift, mean, variance);
      const double noise = base.response[r].noise;
      const Eigen::ArrayXd total = variance.array() + own[r].variance.array() + noise * noise;
      sum += ((mean - own[r].mean).array().square() / total + total.log()).sum();
    }
    if (sum < least) {
      least = sum;
      best = shift;
    }
  }
  return best;
}

}  // namespace

void PriorCandidates::leave(double share) {
  log_prior.array() += std::log(share);
}

void PriorCandidates::add(const ScaleSetting& setting, const WeightPrior& prior, double log_probability) {
  settings.push_back(setting);
  priors.push_back(prior);
  log_prior.conservativeResize(log_prior.size() + 1);
  log_prior.tail(1)(0) = log_probability;
}

PriorCandidates unpooled_candidates(Response response, const SurfaceBasis& basis, int count,
                                    std::uint64_t seed) {
  PriorCandidates out;
  out.settings = scale_settings(response, count, seed);
  for (const ScaleSetting& s : out.settings) out.priors.push_back(independent_prior(response, s, basis, 0));
  out.log_prior = Eigen::VectorXd::Constant(count, -std::log(static_cast<double>(count)));
  return out;
}

std::vector<PoolMessage> messages_of(Response response, Link link, const GlassRows& rows,
                                     const SurfaceBasis& basis, const std::vector<PooledSetting>& settings,
                                     double dose_shift, const std::vector<GradeSite>& sites) {
  std::vector<ScaleSetting> scales;
  std::vector<WeightPrior> priors;
  for (const PooledSetting& s : settings) {
    scales.push_back(s.scales);
    priors.push_back(independent_prior(response, s.scales, basis, dose_shift));
  }
  const ResponsePosterior fit =
      fit_response(response, link, rows, basis, scales, priors, {}, Keep::all, sites);
  std::vector<PoolMessage> messages(settings.size());
  for (std::size_t k = 0; k < settings.size(); ++k) {
    const double pooling = settings[k].pooling;
    const WeightPrior& prior = priors[k];
    const ScaleComponent& c = fit.components[k];
    const Eigen::Index p = prior.mean.size();
    const Eigen::VectorXd inverse_sd = prior.sd.cwiseInverse();
    Eigen::MatrixXd learned =
        -(inverse_sd.asDiagonal() * c.covariance.topLeftCorner(p, p) * inverse_sd.asDiagonal());
    learned.diagonal().array() += 1;  // D
    const Eigen::VectorXd mean = inverse_sd.cwiseProduct(c.mean.head(p) - prior.mean);
    const Eigen::LLT<Eigen::MatrixXd> llt(Eigen::MatrixXd::Identity(p, p) - pooling * learned);
    messages[k].precision = pooling * llt.solve(learned);
    messages[k].vector = std::sqrt(pooling) * llt.solve(mean);
    messages[k].log_evidence = c.log_evidence;
  }
  return messages;
}

WeightPrior prior_by(const std::vector<const PoolMessage*>& messages, Response response,
                     const PooledSetting& setting, const SurfaceBasis& basis) {
  WeightPrior prior = independent_prior(response, setting.scales, basis, 0);
  const Eigen::Index p = prior.mean.size();
  Eigen::MatrixXd precision = Eigen::MatrixXd::Identity(p, p);
  Eigen::VectorXd vector = Eigen::VectorXd::Zero(p);
  for (const PoolMessage* message : messages) {
    precision += message->precision;
    vector += message->vector;
  }
  const Eigen::LLT<Eigen::MatrixXd> llt(precision);
  Eigen::MatrixXd covariance = setting.pooling * llt.solve(Eigen::MatrixXd::Identity(p, p));
  covariance.diagonal().array() += 1 - setting.pooling;
  const Eigen::VectorXd mean = std::sqrt(setting.pooling) * llt.solve(vector);
  prior.pooled = true;
  prior.mean += prior.sd.cwiseProduct(mean);
  const Eigen::MatrixXd symmetric = 0.5 * (covariance + covariance.transpose());
  prior.covariance = prior.sd.asDiagonal() * symmetric * prior.sd.asDiagonal();
  return prior;
}

ShopPool::ShopPool(const std::vector<GlassRows>& glasses, const SurfaceBasis& basis, Link link,
                   std::uint64_t seed) {
  for (const Response r : {Response::frost, Response::chipping}) {
    const std::vector<ScaleSetting> scales = scale_settings(r, kPooledSettings, seed + 1);
    for (int k = 0; k < kPooledSettings; ++k) settings_[index_of(r)].push_back({scales[k], kPooling[k]});
  }
  const GlassRows* best_known = nullptr;
  for (const GlassRows& rows : glasses) {
    if (!best_known || rows.weight > best_known->weight) best_known = &rows;
  }
  if (!best_known) return;
  const GlassSketch base = sketch_of(*best_known, basis, link, Keep::all);
  sources_.resize(glasses.size());
  numerics::parallel_for(glasses.size(), [&](std::size_t i) {
    const GlassRows& rows = glasses[i];
    Source& source = sources_[i];
    source.glass = rows.glass;
    const GlassSketch sketch = &rows == best_known ? base : sketch_of(rows, basis, link, Keep::all);
    if (&rows != best_known) source.dose_shift = aligned_shift(base, rows, sketch, basis);
    for (const Response r : {Response::frost, Response::chipping}) {
      source.messages[index_of(r)] = messages_of(r, link, rows, basis, settings_[index_of(r)],
                                                 source.dose_shift, sketch.sites[index_of(r)]);
    }
  });
}

PriorCandidates ShopPool::candidates(Response response, const std::string& glass, const PriorCandidates& own,
                                     const SurfaceBasis& basis) const {
  const std::size_t r = index_of(response);
  double centre = 0;
  int others = 0;
  Eigen::VectorXd favour = Eigen::VectorXd::Constant(kPooledSettings, 1.0 / kPooledSettings);
  for (const Source& source : sources_) {
    if (source.glass == glass) continue;
    centre += source.dose_shift;
    ++others;
    Eigen::VectorXd evidence(kPooledSettings);
    for (int k = 0; k < kPooledSettings; ++k) evidence(k) = source.messages[r][k].log_evidence;
    favour += (evidence.array() - numerics::log_sum_exp(evidence)).exp().matrix();
  }
  if (others == 0) return own;
  centre /= others;
  favour /= others + 1;

  PriorCandidates out = own;
  out.leave(1 - kPoolingProbability);
  Eigen::VectorXd shift_weight(static_cast<Eigen::Index>(kShifts.size()));
  for (Eigen::Index i = 0; i < shift_weight.size(); ++i) {
    shift_weight(i) = std::exp(-0.5 * std::pow(kShifts[i] / kDoseShiftSd, 2));
  }
  shift_weight /= shift_weight.sum();
  for (int k = 0; k < kPooledSettings; ++k) {
    std::vector<const PoolMessage*> messages;
    for (const Source& source : sources_) {
      if (source.glass != glass) messages.push_back(&source.messages[r][k]);
    }
    WeightPrior prior = prior_by(messages, response, settings_[r][k], basis);
    for (std::size_t i = 0; i < kShifts.size(); ++i) {
      prior.dose_shift = centre + kShifts[i];
      out.add(settings_[r][k].scales, prior,
              std::log(kPoolingProbability * favour(k) * shift_weight(static_cast<Eigen::Index>(i))));
    }
  }
  return out;
}

}  // namespace frostcal::surface
