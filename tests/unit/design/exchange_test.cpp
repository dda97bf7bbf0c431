#include "design/exchange.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <set>

#include "design/quadratic_model.hpp"
#include "numerics/random_engine.hpp"

using namespace frostcal;
using namespace frostcal::design;
using Catch::Matchers::WithinRel;

namespace {

Eigen::MatrixXd random_points(int n, int factors, std::uint64_t seed) {
  numerics::RandomEngine random(seed);
  Eigen::MatrixXd points(n, factors);
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < factors; ++j) points(i, j) = 2 * random.uniform() - 1;
  }
  return points;
}

Eigen::MatrixXd information(const Eigen::MatrixXd& candidates, const std::vector<int>& rows) {
  Eigen::MatrixXd m = Eigen::MatrixXd::Zero(candidates.cols(), candidates.cols());
  for (const int row : rows) m += candidates.row(row).transpose() * candidates.row(row);
  return m;
}

double loss_by_hand(const Eigen::MatrixXd& candidates, const Eigen::MatrixXd& moments,
                    const std::vector<int>& rows, Criterion criterion) {
  const Eigen::MatrixXd m = information(candidates, rows);
  const Eigen::FullPivLU<Eigen::MatrixXd> lu(m);
  if (!lu.isInvertible()) return std::numeric_limits<double>::infinity();
  return criterion == Criterion::d ? -std::log(lu.determinant()) : std::log((lu.inverse() * moments).trace());
}

double loss_of(const ExchangeResult& result, Criterion criterion) {
  return criterion == Criterion::d ? -result.log_det : std::log(result.mean_variance);
}

}  // namespace

TEST_CASE("an exchange is never worse than its start and ends where no single swap helps",
          "[design][exchange]") {
  const Eigen::MatrixXd candidates = QuadraticModel::full(2).rows(random_points(60, 2, 4));
  const Eigen::MatrixXd moments = mean_moments(candidates);
  numerics::RandomEngine random(9);
  for (const Criterion criterion : {Criterion::d, Criterion::i}) {
    ExchangeOptions options;
    options.criterion = criterion;
    for (int trial = 0; trial < 20; ++trial) {
      std::vector<int> start;
      for (int i = 0; i < 9; ++i) start.push_back(static_cast<int>(random.below(60)));
      const double before = loss_by_hand(candidates, moments, start, criterion);
      const ExchangeResult found = improve(candidates, moments, start, options);
      if (!found.estimable) {
        CHECK(!std::isfinite(before));
        continue;
      }
      const double after = loss_by_hand(candidates, moments, found.rows, criterion);
      CHECK(after <= before);
      CHECK_THAT(loss_of(found, criterion), WithinRel(after, 1e-8));
      CHECK(found.converged);
      double best_single = after;
      for (std::size_t out = 0; out < found.rows.size(); ++out) {
        for (int in = 0; in < 60; ++in) {
          std::vector<int> other = found.rows;
          other[out] = in;
          best_single = std::min(best_single, loss_by_hand(candidates, moments, other, criterion));
        }
      }
      CHECK(best_single > after - 1e-7);
    }
  }
}

TEST_CASE("the best of all designs is found where all can be listed", "[design][exchange]") {
  // 12 candidates, 7 runs, repeats allowed: 31,824 designs.
  const Eigen::MatrixXd candidates = QuadraticModel::full(2).rows(random_points(12, 2, 21));
  const Eigen::MatrixXd moments = mean_moments(candidates);
  for (const Criterion criterion : {Criterion::d, Criterion::i}) {
    double best = std::numeric_limits<double>::infinity();
    std::vector<int> rows(7, 0);
    while (true) {
      const Eigen::LLT<Eigen::MatrixXd> cholesky(information(candidates, rows));
      const double smallest =
          cholesky.info() == Eigen::Success ? cholesky.matrixLLT().diagonal().minCoeff() : 0.0;
      if (smallest > 1e-6) {
        const double loss = criterion == Criterion::d
                                ? -2 * cholesky.matrixLLT().diagonal().array().log().sum()
                                : std::log(cholesky.solve(moments).trace());
        best = std::min(best, loss);
      }
      int at = 6;
      while (at >= 0 && rows[static_cast<std::size_t>(at)] == 11) --at;
      if (at < 0) break;
      const int next = rows[static_cast<std::size_t>(at)] + 1;
      for (std::size_t i = static_cast<std::size_t>(at); i < 7; ++i) rows[i] = next;
    }
    ExchangeOptions options;
    options.criterion = criterion;
    options.starts = 40;
    CHECK_THAT(loss_of(exchange(candidates, moments, 7, options), criterion), WithinRel(best, 1e-8));
  }
}

TEST_CASE("the optimum does not depend on names, order or units of the factors", "[design][exchange]") {
  const Eigen::MatrixXd points = random_points(80, 3, 5);
  const QuadraticModel model = QuadraticModel::full(3);
  ExchangeOptions options;
  options.starts = 60;
  for (const Criterion criterion : {Criterion::d, Criterion::i}) {
    options.criterion = criterion;
    const Eigen::MatrixXd candidates = model.rows(points);
    const ExchangeResult plain = exchange(candidates, mean_moments(candidates), 14, options);

    Eigen::MatrixXd renamed(points.rows(), 3);
    renamed << points.col(2), points.col(0), points.col(1);
    const Eigen::MatrixXd swapped = model.rows(renamed);
    const ExchangeResult other = exchange(swapped, mean_moments(swapped), 14, options);
    CHECK_THAT(loss_of(other, criterion), WithinRel(loss_of(plain, criterion), 1e-6));

    const Eigen::MatrixXd reversed = candidates.colwise().reverse();
    const ExchangeResult back = exchange(reversed, mean_moments(reversed), 14, options);
    CHECK_THAT(loss_of(back, criterion), WithinRel(loss_of(plain, criterion), 1e-6));

    // A linear map of the factors multiplies every determinant alike and leaves prediction variances alone.
    Eigen::Matrix3d map;
    map << 2, 0.3, 0, 0, 1, 0.5, 0, 0, 0.7;
    const Eigen::MatrixXd mapped = model.rows(points * map);
    const ExchangeResult moved = judge(mapped, mean_moments(mapped), plain.rows);
    CHECK_THAT(moved.mean_variance, WithinRel(plain.mean_variance, 1e-8));
  }
}

TEST_CASE("the same seed gives the same design", "[design][exchange]") {
  const Eigen::MatrixXd candidates = QuadraticModel::full(3).rows(random_points(200, 3, 6));
  const Eigen::MatrixXd moments = mean_moments(candidates);
  ExchangeOptions options;
  options.starts = 4;
  CHECK(exchange(candidates, moments, 16, options).rows == exchange(candidates, moments, 16, options).rows);
  // And the seed is what decides: single starts end in different optima.
  options.starts = 1;
  std::set<std::vector<int>> ends;
  for (options.seed = 1; options.seed <= 5; ++options.seed)
    ends.insert(exchange(candidates, moments, 16, options).rows);
  CHECK(ends.size() > 1);
}

TEST_CASE("what can't be estimated is said, not computed", "[design][exchange]") {
  const QuadraticModel model = QuadraticModel::full(2);
  const Eigen::MatrixXd candidates = model.rows(random_points(30, 2, 7));
  CHECK_FALSE(exchange(candidates, mean_moments(candidates), 5, {}).estimable);  // fewer runs than terms
  Eigen::MatrixXd line = random_points(30, 2, 8);
  line.col(1).setConstant(0.25);  // one factor never moves
  const Eigen::MatrixXd flat = model.rows(line);
  CHECK_FALSE(exchange(flat, mean_moments(flat), 12, {}).estimable);
  CHECK_FALSE(judge(candidates, mean_moments(candidates), {0, 0, 0, 0, 0, 0, 0}).estimable);
}
