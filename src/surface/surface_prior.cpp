#include "surface/surface_prior.hpp"

#include <algorithm>
#include <cmath>

#include "numerics/normal_tail.hpp"
#include "numerics/sobol.hpp"
#include "surface/surface_basis.hpp"

namespace frostcal::surface {
namespace {

/// Median and log-normal spread of a scale.
struct Spread {
  double median;
  double log_sd;
  double at(double u) const { return median * std::exp(log_sd * numerics::normal_quantile(u)); }
};

struct ResponsePrior {
  double intercept_mean, intercept_sd;
  Spread linear, square, cross, discrepancy, noise, bottle;
  double linear_mean[3];  // in units of linear sd: dose, heat, pitch
  double square_mean[3];  // in units of square sd
  double tone_sd[4];      // u4, u4^2, u1 u4, u3 u4
};

constexpr ResponsePrior kFrostPrior{
    1.5,         3.0,         {2.0, 0.5}, {2.0, 0.5},         {2.0, 0.5},          {2.0, 0.5},
    {0.45, 0.3}, {0.25, 0.4}, {0, 0, 0},  {-1.5, -1.0, -1.0}, {1.0, 0.5, 0.5, 0.5}};

constexpr ResponsePrior kChippingPrior{1.0,           3.0,        {1.3, 0.4},          {0.4, 0.5},
                                       {0.4, 0.5},    {1.0, 0.5}, {0.50, 0.35},        {0.32, 0.4},
                                       {0.8, 0.5, 0}, {0, 0, 0},  {0.7, 0.3, 0.3, 0.3}};

const ResponsePrior& prior_of(Response response) {
  return response == Response::frost ? kFrostPrior : kChippingPrior;
}

}  // namespace

std::vector<ScaleSetting> scale_settings(Response response, int count, std::uint64_t seed) {
  const ResponsePrior& prior = prior_of(response);
  const Eigen::MatrixXd u = numerics::sobol_points(count, 7, seed * 2 + index_of(response));
  std::vector<ScaleSetting> settings(count);
  for (int i = 0; i < count; ++i) {
    ScaleSetting& s = settings[i];
    s.linear_sd = prior.linear.at(u(i, 0));
    s.square_sd = prior.square.at(u(i, 1));
    s.cross_sd = prior.cross.at(u(i, 2));
    s.discrepancy_sd = prior.discrepancy.at(u(i, 3));
    s.noise = prior.noise.at(u(i, 4));
    s.bottle_sd = prior.bottle.at(u(i, 5));
    s.length_choice = std::min(kLengthChoices - 1, static_cast<int>(u(i, 6) * kLengthChoices));
  }
  return settings;
}

ScaleSetting typical_setting(Response response) {
  const ResponsePrior& prior = prior_of(response);
  return {prior.linear.median,
          prior.square.median,
          prior.cross.median,
          prior.discrepancy.median,
          prior.noise.median,
          prior.bottle.median,
          2};
}

FeaturePrior feature_prior(Response response, const ScaleSetting& setting, int features) {
  const ResponsePrior& prior = prior_of(response);
  FeaturePrior f{Eigen::VectorXd::Zero(features),
                 Eigen::VectorXd::Constant(features, setting.discrepancy_sd)};
  f.mean(0) = prior.intercept_mean;
  f.sd(0) = prior.intercept_sd;
  for (int k = 0; k < 3; ++k) {
    f.sd(1 + k) = setting.linear_sd;
    f.mean(1 + k) = prior.linear_mean[k] * setting.linear_sd;
    f.sd(4 + k) = setting.square_sd;
    f.mean(4 + k) = prior.square_mean[k] * setting.square_sd;
    f.sd(7 + k) = setting.cross_sd;
  }
  for (int k = 0; k < 4; ++k) f.sd(10 + k) = prior.tone_sd[k];
  return f;
}

}  // namespace frostcal::surface
