#include "grades/rater_agreement.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/random_engine.hpp"

using Catch::Matchers::WithinAbs;
using namespace frostcal::grades;
using frostcal::design::Grid;

namespace {

SwatchGrade grade(const std::string& swatch, const std::string& grader, int frost, int chipping) {
  return {swatch, grader, frost, chipping, "", "2026-11-25T10:00:00Z"};
}

Grid grid_of(int swatches, int settings) {
  Grid grid;
  grid.id = "0001-amber-jug";
  for (int i = 0; i < swatches; ++i) {
    frostcal::design::Swatch swatch;
    swatch.id = "A" + std::to_string(i + 1);
    swatch.bottle = "amber-jug-1";
    swatch.setting = {10.0 + i % settings, 40, 300, 100, "stucki", 1};
    grid.swatches.push_back(swatch);
  }
  return grid;
}

int drawn_row(const Eigen::VectorXd& cumulative, double u) {
  int at = 0;
  while (at + 1 < cumulative.size() && u > cumulative[at]) ++at;
  return at;
}

}  // namespace

TEST_CASE("kappa is 1 for agreement, 0 for chance, and undefined for one grade", "[grades][kappa]") {
  const Eigen::MatrixXd weights = disagreement_weights(KappaWeights::quadratic, 4);
  const Eigen::Vector4d margin(0.1, 0.2, 0.3, 0.4);
  CHECK_THAT(weighted_kappa(Eigen::MatrixXd(margin.asDiagonal()) * 50, weights).kappa, WithinAbs(1, 1e-12));
  CHECK_THAT(weighted_kappa(50 * margin * margin.transpose(), weights).kappa, WithinAbs(0, 1e-12));
  Eigen::Matrix4d one = Eigen::Matrix4d::Zero();
  CHECK_FALSE(weighted_kappa(one, weights).defined);
  one(2, 2) = 30;
  CHECK_FALSE(weighted_kappa(one, weights).defined);
}

TEST_CASE("a dozen swatches without disagreement do not claim certainty", "[grades][kappa]") {
  const Eigen::MatrixXd counts = 3 * Eigen::MatrixXd::Identity(4, 4);
  const Kappa kappa = weighted_kappa(counts, disagreement_weights(KappaWeights::quadratic, 4));
  CHECK(kappa.high == 1);
  CHECK(kappa.low < 0.9);
  CHECK(kappa.low > 0.3);
}

// The jackknife stands for an independent standard error.
TEST_CASE("the standard error agrees with the jackknife", "[grades][kappa]") {
  Eigen::MatrixXd counts(5, 5);
  counts << 45, 15, 0, 0, 0, 10, 70, 20, 0, 0, 0, 25, 100, 30, 5, 0, 0, 20, 60, 15, 0, 0, 0, 10, 25;
  for (const KappaWeights kind : {KappaWeights::identity, KappaWeights::linear, KappaWeights::quadratic}) {
    const Eigen::MatrixXd weights = disagreement_weights(kind, 5);
    const Kappa whole = weighted_kappa(counts, weights);
    double square = 0;
    double mean = 0;
    for (const bool second : {false, true}) {
      for (int i = 0; i < 5; ++i) {
        for (int j = 0; j < 5; ++j) {
          if (counts(i, j) < 1) continue;
          Eigen::MatrixXd less = counts;
          less(i, j) -= 1;
          const double kappa = weighted_kappa(less, weights).kappa;
          if (second) square += counts(i, j) * (kappa - mean) * (kappa - mean);
          if (!second) mean += counts(i, j) * kappa / counts.sum();
        }
      }
    }
    const double n = counts.sum();
    CHECK_THAT(whole.standard_error, WithinAbs(std::sqrt((n - 1) / n * square), 0.01 * whole.standard_error));
  }
}

TEST_CASE("the 90 % interval holds the true kappa about nine times in ten", "[grades][kappa][coverage]") {
  // Two graders of a latent quality: grade = number of cutpoints under quality + own error.
  const Eigen::Index k = 6;
  const Eigen::MatrixXd weights = disagreement_weights(KappaWeights::quadratic, static_cast<int>(k));
  for (const double spread : {0.3, 0.8}) {
    Eigen::MatrixXd share = Eigen::MatrixXd::Zero(k, k);
    const auto phi = [](double x) { return 0.5 * std::erfc(-x / std::sqrt(2.0)); };
    const auto cell = [&](Eigen::Index j, double quality) {
      const double low = j == 0 ? -1e9 : (static_cast<double>(j) - 3) * 0.8;
      const double high = j == k - 1 ? 1e9 : (static_cast<double>(j) - 2) * 0.8;
      return phi((high - quality) / spread) - phi((low - quality) / spread);
    };
    for (double quality = -4; quality <= 4; quality += 0.05) {
      const double density = std::exp(-0.5 * quality * quality);
      for (Eigen::Index i = 0; i < k; ++i) {
        for (Eigen::Index j = 0; j < k; ++j) share(i, j) += density * cell(i, quality) * cell(j, quality);
      }
    }
    share /= share.sum();
    const double truth = weighted_kappa(share * 1e6, weights).kappa;
    Eigen::VectorXd cumulative(k * k);
    double sum = 0;
    for (Eigen::Index c = 0; c < k * k; ++c) cumulative[c] = sum += share(c / k, c % k);
    for (const int n : {12, 36}) {
      frostcal::numerics::RandomEngine random(17);
      int held = 0;
      const int runs = 2000;
      for (int run = 0; run < runs; ++run) {
        Eigen::MatrixXd counts = Eigen::MatrixXd::Zero(k, k);
        for (int i = 0; i < n; ++i) {
          const int c = drawn_row(cumulative, random.uniform());
          counts(c / k, c % k) += 1;
        }
        const Kappa kappa = weighted_kappa(counts, weights);
        if (kappa.low <= truth && truth <= kappa.high) ++held;
      }
      INFO("spread " << spread << ", " << n << " swatches, true kappa " << truth);
      const double coverage = static_cast<double>(held) / runs;
      CHECK(coverage > 0.84);
      CHECK(coverage < 0.99);
    }
  }
}

TEST_CASE("graders are compared on the swatches that both graded", "[grades][kappa]") {
  GradedSwatches graded{grid_of(6, 6), {}};
  for (int i = 0; i < 6; ++i) {
    graded.grades.push_back(grade("A" + std::to_string(i + 1), "Bo", i % 6, i % 4));
    if (i < 5) graded.grades.push_back(grade("A" + std::to_string(i + 1), "Ada", i == 4 ? 2 : i % 6, i % 4));
  }
  const auto agreements = agreement_between_graders({graded});
  REQUIRE(agreements.size() == 1);
  CHECK(agreements[0].first == "Ada");
  CHECK(agreements[0].frost.pairs == 5);
  CHECK(agreements[0].apart == std::vector<std::string>{"0001-amber-jug A5"});
  CHECK_THAT(agreements[0].frost_difference, WithinAbs(2.0 / 5, 1e-12));
  CHECK_THAT(agreements[0].frost_scatter, WithinAbs(4.0 / 5, 1e-12));  // of 0 0 0 0 2
  CHECK_THAT(agreements[0].chipping.kappa, WithinAbs(1, 1e-12));
}

TEST_CASE("a grader's consistency counts each repeat once", "[grades][kappa]") {
  GradedSwatches graded{grid_of(8, 3), {}};  // settings 0 1 2 0 1 2 0 1: three pairs, two left over
  for (int i = 0; i < 8; ++i) graded.grades.push_back(grade("A" + std::to_string(i + 1), "Ada", i % 3, 0));
  const auto consistencies = consistency_over_repeats({graded});
  REQUIRE(consistencies.size() == 1);
  CHECK_THAT(consistencies[0].frost.pairs, WithinAbs(3, 1e-12));
  CHECK_THAT(consistencies[0].frost.kappa, WithinAbs(1, 1e-12));
  CHECK_FALSE(consistencies[0].chipping.defined);
}
