#include "design/place_order.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "errors/bug.hpp"

namespace frostcal::design {

namespace {

constexpr int kOrders = 200;
constexpr int kOrdersOfMany = 20;
constexpr std::size_t kMany = 200;

// Mean 0 and length 1, or all 0 where the values are the same.
std::vector<double> standardised(std::vector<double> values) {
  const double mean = std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
  double square = 0;
  for (double& value : values) {
    value -= mean;
    square += value * value;
  }
  const bool varies = square > 1e-18 * (1 + mean * mean) * static_cast<double>(values.size());
  for (double& value : values) value = varies ? value / std::sqrt(square) : 0.0;
  return values;
}

using Columns = std::vector<std::vector<double>>;

Columns factors_of(const std::vector<shop::Setting>& settings, const shop::Machine& machine) {
  Columns factors(4);
  for (const shop::Setting& setting : settings) {
    factors[0].push_back(std::log(setting.power_pct));
    factors[1].push_back(std::log(setting.speed_pct));
    factors[2].push_back(std::log(static_cast<double>(setting.dpi)));
    factors[3].push_back(std::log(shop::dose_j_mm2(setting, machine)));
  }
  for (std::vector<double>& factor : factors) factor = standardised(std::move(factor));
  return factors;
}

double largest_correlation(const Columns& factors, const std::vector<Place>& places) {
  double x_middle = 0;
  double y_middle = 0;
  for (const Place& place : places) {
    x_middle += place.x_mm / static_cast<double>(places.size());
    y_middle += place.y_mm / static_cast<double>(places.size());
  }
  Columns where(3);
  for (const Place& place : places) {
    where[0].push_back(place.x_mm);
    where[1].push_back(place.y_mm);
    where[2].push_back(std::max(std::abs(place.x_mm - x_middle), std::abs(place.y_mm - y_middle)));
  }
  double largest = 0;
  for (std::vector<double>& column : where) {
    column = standardised(std::move(column));
    for (const std::vector<double>& factor : factors) {
      const double correlation = std::inner_product(factor.begin(), factor.end(), column.begin(), 0.0);
      largest = std::max(largest, std::abs(correlation));
    }
  }
  return largest;
}

// Rank of each dose less the mean rank; equal doses share theirs.
std::vector<double> dose_ranks(const std::vector<shop::Setting>& settings, const shop::Machine& machine) {
  std::vector<double> dose;
  for (const shop::Setting& setting : settings) dose.push_back(shop::dose_j_mm2(setting, machine));
  std::vector<double> ranks;
  for (const double one : dose) {
    double rank = 0;
    for (const double other : dose) rank += other < one ? 0.5 : other > one ? -0.5 : 0.0;
    ranks.push_back(rank);
  }
  return ranks;
}

double likeness(const std::vector<Place>& places, const std::vector<double>& ranks, double reach_mm) {
  double sum = 0;
  for (std::size_t i = 0; i < places.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (std::abs(places[i].x_mm - places[j].x_mm) + std::abs(places[i].y_mm - places[j].y_mm) < reach_mm)
        sum += ranks[i] * ranks[j];
    }
  }
  return sum;
}

}  // namespace

std::vector<Place> scattered(const std::vector<shop::Setting>& settings, std::vector<Place> places,
                             const shop::Machine& machine, double reach_mm, numerics::RandomEngine& random) {
  FROSTCAL_ASSERT(!settings.empty() && settings.size() == places.size(), "a place for each setting");
  const Columns factors = factors_of(settings, machine);
  const std::vector<double> ranks = dose_ranks(settings, machine);
  std::vector<Place> best;
  std::pair<double, double> least;  // correlation beyond what is allowed, likeness of neighbours
  const int orders = settings.size() > kMany ? kOrdersOfMany : kOrders;
  for (int order = 0; order < orders; ++order) {
    random.shuffle(places);
    const double beyond = std::max(0.0, largest_correlation(factors, places) - kMostPlaceCorrelation);
    if (!best.empty() && beyond > least.first) continue;
    const std::pair<double, double> now{beyond, likeness(places, ranks, reach_mm)};
    if (best.empty() || now < least) {
      best = places;
      least = now;
    }
  }
  return best;
}

}  // namespace frostcal::design
