// How long an optimal design of 24 runs takes to choose from 60,000 candidates.
#include <chrono>
#include <cstdio>

#include "design/exchange.hpp"
#include "design/quadratic_model.hpp"
#include "numerics/random_engine.hpp"

using namespace frostcal;

namespace {

void time_one(const char* name, design::Criterion criterion, const Eigen::MatrixXd& candidates,
              const Eigen::MatrixXd& moments) {
  design::ExchangeOptions options;
  options.criterion = criterion;
  options.starts = 1;
  const auto begin = std::chrono::steady_clock::now();
  const design::ExchangeResult found = design::exchange(candidates, moments, 24, options);
  const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - begin;
  std::printf("%s  %6.3f s for one start, log det %.6f, mean variance %.6f\n", name, spent.count(),
              found.log_det, found.mean_variance);
}

}  // namespace

int main() {
  const int count = 60000;
  numerics::RandomEngine random(1);
  Eigen::MatrixXd points(count, 3);
  for (int i = 0; i < count; ++i) {
    for (int j = 0; j < 3; ++j) points(i, j) = 2 * random.uniform() - 1;
  }
  const Eigen::MatrixXd candidates = design::QuadraticModel::full(3).rows(points);
  const Eigen::MatrixXd moments = design::mean_moments(candidates);
  time_one("D", design::Criterion::d, candidates, moments);
  time_one("I", design::Criterion::i, candidates, moments);
  return 0;
}
