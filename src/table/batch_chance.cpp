#include "table/batch_chance.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "errors/bug.hpp"
#include "numerics/distributions.hpp"
#include "numerics/gauss_hermite.hpp"
#include "numerics/normal_tail.hpp"
#include "surface/surface_prior.hpp"

namespace frostcal::table {

namespace {

constexpr double kLeastPrecision = 0.1;  // of a beta: nearly all or nothing
constexpr double kExact = 1e6;           // from here on the beta cannot be told from its mean
constexpr int kMostBottles = 20;         // for each piece

double log_beta(double a, double b) {
  return std::lgamma(a) + std::lgamma(b) - std::lgamma(a + b);
}

// ln of the mean of p^good (1 - p)^bad.
double log_outcome(int good, int bad, const BatchChance& chance) {
  if (std::isinf(chance.precision)) {
    return (good == 0 ? 0 : good * std::log(chance.mean)) + (bad == 0 ? 0 : bad * std::log1p(-chance.mean));
  }
  const double a = chance.mean * chance.precision;
  const double b = chance.precision - a;
  return log_beta(a + good, b + bad) - log_beta(a, b);
}

// P(at least `good` of `bottles` come out good).
double at_least(int good, int bottles, const BatchChance& chance) {
  double sum = 0;
  for (int k = good; k <= bottles; ++k) {
    const double log_ways =
        std::lgamma(bottles + 1.0) - std::lgamma(k + 1.0) - std::lgamma(bottles - k + 1.0);
    sum += std::exp(log_ways + log_outcome(k, bottles - k, chance));
  }
  return sum;
}

// P(X <= x) for Beta(a, b), by the F distribution: X / (1 - X) * b / a is F(2a, 2b).
double beta_cdf(double x, double a, double b) {
  if (x >= 1) return 1;
  return numerics::f_cdf(std::max(x, 0.0) * b / ((1 - x) * a), 2 * a, 2 * b);
}

// The binomial tail is a beta's: P(at least k of n) = P(Beta(k, n - k + 1) <= p).
double at_least(int good, int bottles, const DrawnChance& chance) {
  double sum = 0;
  for (Eigen::Index i = 0; i < chance.chance.size(); ++i) {
    sum += chance.weight(i) * beta_cdf(chance.chance(i), good, bottles - good + 1);
  }
  return sum;
}

// P grows with the number of bottles, so halve the range.
template <typename Belief>
int fewest_bottles(int pieces, const Belief& chance, double sure) {
  long low = pieces;
  long high = static_cast<long>(kMostBottles) * pieces;
  if (at_least(pieces, static_cast<int>(high), chance) < sure) return 0;
  while (low < high) {
    const long middle = (low + high) / 2;
    if (at_least(pieces, static_cast<int>(middle), chance) >= sure) {
      high = middle;
    } else {
      low = middle + 1;
    }
  }
  return static_cast<int>(low);
}

template <typename Belief>
int fewest_rejects(int pieces, const Belief& chance, double share) {
  int low = 0;
  int high = pieces;
  while (low < high) {
    const int middle = (low + high) / 2;
    if (at_least(pieces - middle, pieces, chance) >= share) {
      high = middle;
    } else {
      low = middle + 1;
    }
  }
  return low;
}

// The largest precision at which `low` is the 5 % quantile; nothing when there is none.
std::optional<double> precision_by_low(double mean, double low) {
  constexpr double kTail = 0.05;
  constexpr double kStep = 1.25;
  if (low <= 0 || low >= mean) return std::nullopt;
  const auto under = [&](double precision) {
    return beta_cdf(low, mean * precision, (1 - mean) * precision);
  };
  double above = kExact;
  double below = above / kStep;
  while (under(below) < kTail) {
    above = below;
    below /= kStep;
    if (below < kLeastPrecision) return std::nullopt;
  }
  for (int i = 0; i < 40; ++i) {
    const double middle = std::sqrt(above * below);
    (under(middle) < kTail ? above : below) = middle;
  }
  return below;
}

}  // namespace

BatchChance batch_chance(const SettingsRow& row) {
  const double normal_95 = numerics::normal_quantile(0.95);
  const double sd = (row.chance_high - row.chance_low) / (2 * normal_95);
  const double by_sd = row.chance * (1 - row.chance) / (sd * sd) - 1;
  if (!(sd > 0) || row.chance <= 0 || row.chance >= 1 || by_sd > kExact) {
    return {row.chance, std::numeric_limits<double>::infinity()};
  }
  const double precision = precision_by_low(row.chance, row.chance_low).value_or(by_sd);
  return {row.chance, std::max(precision, kLeastPrecision)};
}

DrawnChance drawn_batch(const surface::GlassSurface& surface,
                        const std::vector<surface::PhysicalSetting>& places) {
  constexpr int kDays = 5;
  const numerics::NormalQuadrature days = numerics::normal_quadrature(kDays);
  std::vector<std::vector<surface::PhysicalSetting>> on_days(kDays, places);
  for (int i = 0; i < kDays; ++i) {
    for (surface::PhysicalSetting& place : on_days[static_cast<std::size_t>(i)])
      place.power_w *= std::exp(surface::kDaySd * days.nodes(i));
  }
  const Eigen::MatrixXd drawn = surface.drawn_batch_chance(on_days);
  const Eigen::Index draws = drawn.cols();
  DrawnChance batch{Eigen::VectorXd(kDays * draws), Eigen::VectorXd(kDays * draws),
                    surface.chance_of_all(places)};
  for (Eigen::Index draw = 0; draw < draws; ++draw) {
    batch.chance.segment(kDays * draw, kDays) = drawn.col(draw);
    batch.weight.segment(kDays * draw, kDays) = days.weights / static_cast<double>(draws);
  }
  return batch;
}

double no_reject_chance(int pieces, const BatchChance& chance) {
  return chance.mean <= 0 ? 0 : std::exp(log_outcome(pieces, 0, chance));
}

double no_reject_chance(int pieces, const DrawnChance& chance) {
  return chance.chance.array().pow(pieces).matrix().dot(chance.weight);
}

int rejects_quantile(int pieces, const BatchChance& chance, double share) {
  FROSTCAL_ASSERT(pieces >= 1 && share > 0 && share < 1, "a batch");
  if (chance.mean <= 0) return pieces;
  if (chance.mean >= 1) return 0;
  return fewest_rejects(pieces, chance, share);
}

int rejects_quantile(int pieces, const DrawnChance& chance, double share) {
  FROSTCAL_ASSERT(pieces >= 1 && share > 0 && share < 1, "a batch");
  return fewest_rejects(pieces, chance, share);
}

int bottles_needed(int pieces, const BatchChance& chance, double sure) {
  FROSTCAL_ASSERT(
      pieces >= 1 && chance.mean >= 0 && chance.mean <= 1 && chance.precision > 0 && sure > 0 && sure < 1,
      "a batch");
  if (chance.mean <= 0) return 0;
  if (chance.mean >= 1) return pieces;
  return fewest_bottles(pieces, chance, sure);
}

int bottles_needed(int pieces, const DrawnChance& chance, double sure) {
  FROSTCAL_ASSERT(pieces >= 1 && chance.chance.size() > 0 && chance.weight.size() == chance.chance.size() &&
                      sure > 0 && sure < 1,
                  "a batch");
  return fewest_bottles(pieces, chance, sure);
}

}  // namespace frostcal::table
