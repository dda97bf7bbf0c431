#include "design/exchange.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "design/model_terms.hpp"
#include "published/ordinal_table.hpp"

using Catch::Matchers::WithinRel;
using Eigen::Index;
using Eigen::MatrixXd;
using namespace frostcal::design;

namespace {

// All points of a grid of `levels` values from -reach to reach in `factors` directions.
MatrixXd grid(int factors, int levels, double reach) {
  Index count = 1;
  for (int j = 0; j < factors; ++j) count *= levels;
  MatrixXd points(count, factors);
  for (Index i = 0; i < count; ++i) {
    Index rest = i;
    for (int j = 0; j < factors; ++j, rest /= levels) {
      points(i, j) = -reach + 2 * reach * static_cast<double>(rest % levels) / (levels - 1);
    }
  }
  return model_matrix(points, Order::second);
}

double expected(const std::string& name, const std::string& quantity) {
  for (const auto& row : ordinal_table::read("design_expected.csv")) {
    if (row.at("case") == name && row.at("quantity") == quantity) return std::stod(row.at("value"));
  }
  throw std::logic_error("no expected value for " + name);
}

}  // namespace

TEST_CASE("exchange reaches the exact D-optimal designs found by enumeration", "[published][design]") {
  const MatrixXd three = grid(2, 3, 1);
  for (int n = 6; n <= 13; ++n) {
    const OptimalDesign found = exchange(three, {Criterion::d, n, 40, 50, 7});
    INFO(n << " runs on 3 x 3");
    CHECK_THAT(std::exp(found.log_det),
               WithinRel(expected("exactD_quad2_grid3x3_n" + std::to_string(n), "det_XtX"), 1e-9));
  }
  const MatrixXd five = grid(2, 5, 1);
  for (int n = 6; n <= 9; ++n) {
    const OptimalDesign found = exchange(five, {Criterion::d, n, 40, 50, 7});
    INFO(n << " runs on 5 x 5");
    CHECK_THAT(std::exp(found.log_det),
               WithinRel(expected("exactD_quad2_grid5x5_n" + std::to_string(n), "det_XtX"), 1e-9));
  }
}

TEST_CASE("exchange reaches the best known designs in three factors", "[published][design]") {
  const MatrixXd five = grid(3, 5, 2);
  const OptimalDesign found = exchange(five, {Criterion::d, 15, 60, 50, 3});
  CHECK(d_value(found.log_det, 10, 15) > expected("exactD_quad3_grid5x5x5_levels_pm2_n15", "D") * (1 - 1e-8));
  const MatrixXd three = grid(3, 3, 1);
  for (const int n : {10, 12, 14, 16, 20}) {
    const OptimalDesign one = exchange(three, {Criterion::d, n, 300, 50, 3});
    INFO(n << " runs on 3 x 3 x 3");
    CHECK(d_value(one.log_det, 10, n) >
          expected("exactD_quad3_grid3x3x3_n" + std::to_string(n), "D") * (1 - 1e-8));
  }
}

TEST_CASE("exchange is never worse than its start, repeatable, and blind to the candidates' order",
          "[design]") {
  const MatrixXd candidates = grid(3, 4, 1);
  for (const Criterion criterion : {Criterion::d, Criterion::i}) {
    const OptimalDesign rough = exchange(candidates, {criterion, 14, 1, 0, 11});
    const OptimalDesign better = exchange(candidates, {criterion, 14, 1, 50, 11});
    if (criterion == Criterion::d) {
      CHECK(better.log_det >= rough.log_det);
    } else {
      CHECK(better.mean_variance <= rough.mean_variance);
    }
    CHECK(exchange(candidates, {criterion, 14, 5, 50, 11}).rows ==
          exchange(candidates, {criterion, 14, 5, 50, 11}).rows);
  }
  const MatrixXd reversed = candidates.colwise().reverse();
  const OptimalDesign one = exchange(candidates, {Criterion::d, 14, 60, 50, 1});
  const OptimalDesign other = exchange(reversed, {Criterion::d, 14, 60, 50, 1});
  CHECK_THAT(one.log_det, WithinRel(other.log_det, 1e-6));
}

TEST_CASE("an I-optimal design predicts better on average than a D-optimal one", "[design]") {
  const MatrixXd candidates = grid(2, 9, 1);
  const OptimalDesign i = exchange(candidates, {Criterion::i, 12, 30, 50, 5});
  const OptimalDesign d = exchange(candidates, {Criterion::d, 12, 30, 50, 5});
  CHECK(i.mean_variance < d.mean_variance);
  CHECK(d.log_det > i.log_det);
}
