#include "numerics/weighted_quantile.hpp"

#include <algorithm>
#include <utility>
#include <vector>

namespace frostcal::numerics {

double weighted_quantile(const Eigen::VectorXd& values, const Eigen::VectorXd& weights, double share) {
  std::vector<std::pair<double, double>> sorted;
  for (Eigen::Index i = 0; i < values.size(); ++i) sorted.emplace_back(values(i), weights(i));
  std::sort(sorted.begin(), sorted.end());
  double sum = 0;
  for (const auto& [value, weight] : sorted) {
    sum += weight;
    if (sum >= share) return value;
  }
  return sorted.back().first;
}

}  // namespace frostcal::numerics
