// Every prior number of the surface model, in one place.
//
// They are a judgement: effects are in grade units, frost is expected to have a best place within the
// machine's range (negative squares), chipping to rise with dose and heat; the widths were chosen so that
// simulated glasses of several physical kinds, none of them drawn from this model, were learned quickly from
// few swatches. The fit averages over the spreads given here, so that data can overrule them.
#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace frostcal::surface {

enum class Response { frost, chipping };

inline constexpr int categories(Response response) {
  return response == Response::frost ? 6 : 4;
}

/// Of arrays with one entry for each response.
inline constexpr std::size_t index_of(Response response) {
  return response == Response::frost ? 0 : 1;
}

/// First cutpoint, and prior mean and sd of the gap between neighbouring cutpoints; a grade is one unit wide.
inline constexpr double kFirstCutpoint = 0.5;
inline constexpr double kGapMean = 1.0;
inline constexpr double kGapSd = 0.25;

inline constexpr double kBurnSd = 0.15;
inline constexpr double kGraderSd = 0.15;
/// Of the machine's delivered ln power: from one day to another, and its drift in a year. Some tubes wear out
/// much faster than most do: with probability kFailingShare the drift is about kFailingTrend, with sd
/// kFailingTrendSd. That is believed only where several bottles stand on either side of it and a second glass
/// can bear it out.
inline constexpr double kDaySd = 0.03;
inline constexpr double kTrendSd = 0.15;
inline constexpr double kLoneTrendSd = 0.1;  // where one bottle or glass tells it, which may be an odd one
inline constexpr double kFailingTrend = -0.4;
inline constexpr double kFailingTrendSd = 0.4;
inline constexpr double kFailingShare = 0.2;
/// By how much bottles differ as if power did, beyond their own effects: what a trend's evidence is blurred
/// by.
inline constexpr double kBottlePowerSd = 0.1;
inline constexpr int kBottlesToFail = 2;
/// A glass's later bottles are of another kind (another batch or supplier under the old name) with
/// probability kOtherGlassShare; what they then want differs by kOtherGlassSd of ln power. Judgements, like
/// all the above.
inline constexpr double kOtherGlassShare = 0.2;
inline constexpr double kOtherGlassSd = 0.4;

/// One setting of the prior scales.
struct ScaleSetting {
  double linear_sd = 0;
  double square_sd = 0;
  double cross_sd = 0;
  double discrepancy_sd = 0;
  double noise = 0;  // grading noise sigma
  double bottle_sd = 0;
  int length_choice = 0;
};

/// `count` settings: a Sobol' set scrambled by `seed`, pushed through the scales' priors. Equal prior
/// weights.
std::vector<ScaleSetting> scale_settings(Response response, int count, std::uint64_t seed);

/// Every scale at its median, length scales (1, 1.5, 1.5).
ScaleSetting typical_setting(Response response);

/// Prior mean and standard deviation of each surface feature (kPolynomialFeatures, then the discrepancy).
struct FeaturePrior {
  Eigen::VectorXd mean;
  Eigen::VectorXd sd;
};
FeaturePrior feature_prior(Response response, const ScaleSetting& setting, int features);

}  // namespace frostcal::surface
