// NIST/ITL Statistical Reference Datasets, linear least squares: certified coefficients, standard deviations
// and analysis of variance of eleven data sets.
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

#include "numerics/least_squares.hpp"
#include "published/published_table.hpp"

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using Eigen::Index;
using frostcal::numerics::fit_least_squares;
using frostcal::numerics::LeastSquaresFit;

namespace {

struct Set {
  std::string name;
  std::string file;
  int degree;  // of the polynomial; 0 = the columns x1..x6 themselves
  bool intercept;
  double tolerance;  // relative, coefficients and standard deviations
};

LeastSquaresFit fit(const Set& set) {
  const auto rows = published_table::read(set.file);
  const Index n = static_cast<Index>(rows.size());
  const Index predictors = set.degree == 0 ? 6 : set.degree;
  const Index start = set.intercept ? 1 : 0;
  Eigen::MatrixXd x(n, predictors + start);
  Eigen::VectorXd y(n);
  for (Index i = 0; i < n; ++i) {
    const auto& row = rows[static_cast<std::size_t>(i)];
    y[i] = std::stod(row.at("y"));
    if (set.intercept) x(i, 0) = 1;
    for (Index j = 1; j <= predictors; ++j) {
      x(i, start + j - 1) = set.degree == 0 ? std::stod(row.at("x" + std::to_string(j)))
                                            : std::pow(std::stod(row.at("x")), static_cast<double>(j));
    }
  }
  return fit_least_squares(x, y, {set.intercept, 1e-14});
}

void check(double found, const std::string& certified, double tolerance) {
  if (certified == "Infinity") {
    CHECK(found > 1e12);
    return;
  }
  const double value = std::stod(certified);
  if (value == 0) {
    CHECK_THAT(found, WithinAbs(0, 1e-8));
  } else {
    CHECK_THAT(found, WithinRel(value, tolerance));
  }
}

}  // namespace

TEST_CASE("least squares reaches the certified values of NIST StRD", "[published][least_squares]") {
  const Set sets[] = {
      {"Norris", "strd_norris.csv", 1, true, 1e-9},     {"Pontius", "strd_pontius.csv", 2, true, 1e-9},
      {"NoInt1", "strd_noint1.csv", 1, false, 1e-9},    {"NoInt2", "strd_noint2.csv", 1, false, 1e-9},
      {"Longley", "strd_longley.csv", 0, true, 1e-9},   {"Filip", "strd_filip.csv", 10, true, 1e-6},
      {"Wampler1", "strd_wampler1.csv", 5, true, 1e-6}, {"Wampler2", "strd_wampler2.csv", 5, true, 1e-6},
      {"Wampler3", "strd_wampler3.csv", 5, true, 1e-6}, {"Wampler4", "strd_wampler4.csv", 5, true, 1e-6},
      {"Wampler5", "strd_wampler5.csv", 5, true, 1e-4},
  };
  const auto certified = published_table::read("strd_certified.csv");
  for (const Set& set : sets) {
    const LeastSquaresFit found = fit(set);
    REQUIRE(found.full_rank);
    int compared = 0;
    for (const auto& row : certified) {
      if (row.at("dataset") != set.name) continue;
      REQUIRE_FALSE(row.at("source").empty());
      const std::string& item = row.at("item");
      const std::string& quantity = row.at("quantity");
      INFO(set.name << ' ' << item << ' ' << quantity);
      const std::string& value = row.at("value");
      ++compared;
      if (quantity == "coef" || quantity == "sd") {
        const Index at = std::stoi(item.substr(1)) - (set.intercept ? 0 : 1);
        check((quantity == "coef" ? found.coefficients : found.standard_errors)[at], value, set.tolerance);
      } else if (quantity == "resid_sd") {
        check(found.residual_sd, value, 1e-9);
      } else if (quantity == "r_squared") {
        check(found.r_squared, value, 1e-9);
      } else if (quantity == "f_stat") {
        check(found.f_statistic, value, 1e-7);
      } else if (item == "regression") {
        const double df = found.regression_df;
        check(quantity == "df" ? df : found.regression_ss / (quantity == "ms" ? df : 1), value, 1e-9);
      } else if (item == "residual") {
        const double df = found.residual_df;
        check(quantity == "df" ? df : found.residual_ss / (quantity == "ms" ? df : 1), value, 1e-7);
      } else {
        --compared;
      }
    }
    CHECK(compared >= 11);
  }
}

TEST_CASE("Filip's polynomial is reported as nearly dependent", "[published][least_squares]") {
  CHECK(fit({"Filip", "strd_filip.csv", 10, true, 0}).pivot_ratio < 1e-7);
  CHECK(fit({"Norris", "strd_norris.csv", 1, true, 0}).pivot_ratio > 1e-3);
}

TEST_CASE("a doubled column is reported, not dropped in silence", "[least_squares]") {
  Eigen::MatrixXd x(5, 3);
  x << 1, 0, 0, 1, 1, 2, 1, 2, 4, 1, 3, 6, 1, 4, 8;
  const LeastSquaresFit found = fit_least_squares(x, Eigen::VectorXd::LinSpaced(5, 1, 9));
  CHECK_FALSE(found.full_rank);
  CHECK(found.rank == 2);
  CHECK(found.coefficients.allFinite());
  CHECK_THAT(found.residual_ss, WithinAbs(0, 1e-18));
}

// Naive reference: leave each row out and fit again.
TEST_CASE("PRESS equals the sum of squared leave-one-out errors", "[least_squares]") {
  const auto rows = published_table::read("strd_norris.csv");
  const Index n = static_cast<Index>(rows.size());
  Eigen::MatrixXd x = Eigen::MatrixXd::Ones(n, 2);
  Eigen::VectorXd y(n);
  for (Index i = 0; i < n; ++i) {
    x(i, 1) = std::stod(rows[static_cast<std::size_t>(i)].at("x"));
    y[i] = std::stod(rows[static_cast<std::size_t>(i)].at("y"));
  }
  double press = 0;
  for (Index out = 0; out < n; ++out) {
    Eigen::MatrixXd part(n - 1, 2);
    Eigen::VectorXd rest(n - 1);
    for (Index i = 0, at = 0; i < n; ++i) {
      if (i == out) continue;
      part.row(at) = x.row(i);
      rest[at++] = y[i];
    }
    press += std::pow(y[out] - x.row(out).dot(fit_least_squares(part, rest).coefficients), 2);
  }
  CHECK_THAT(fit_least_squares(x, y).press, WithinRel(press, 1e-8));
}
