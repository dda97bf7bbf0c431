#include "grades/rater_agreement.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "errors/bug.hpp"
#include "numerics/normal_tail.hpp"
#include "shop/shop.hpp"

namespace frostcal::grades {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

struct Estimate {
  bool defined = false;
  double kappa = 0;
  double standard_error = 0;
};

// With agreement weights w = 1 - v / max v; share holds proportions.
Estimate estimate(const MatrixXd& share, const MatrixXd& weights, double pairs) {
  Estimate result;
  const VectorXd first = share.rowwise().sum();
  const VectorXd second = share.colwise().sum();
  const MatrixXd agree = MatrixXd::Ones(share.rows(), share.cols()) - weights / weights.maxCoeff();
  const double observed = agree.cwiseProduct(share).sum();
  const double expected = first.dot(agree * second);
  const bool varied = first.maxCoeff() < 1 - 1e-12 && second.maxCoeff() < 1 - 1e-12;
  if (!varied || !(1 - expected > 1e-12)) return result;
  const VectorXd of_first = agree * second;
  const VectorXd of_second = agree.transpose() * first;
  double square = 0;
  for (Index i = 0; i < share.rows(); ++i) {
    for (Index j = 0; j < share.cols(); ++j) {
      const double term = agree(i, j) * (1 - expected) - (of_first[i] + of_second[j]) * (1 - observed);
      square += share(i, j) * term * term;
    }
  }
  const double mean = observed * expected - 2 * expected + observed;
  const double variance = std::max(0.0, square - mean * mean) / (pairs * std::pow(1 - expected, 4));
  result.defined = true;
  result.kappa = (observed - expected) / (1 - expected);
  result.standard_error = std::sqrt(variance);
  return result;
}

// What two graders gave the same swatches.
struct PairTables {
  MatrixXd frost = MatrixXd::Zero(shop::kFrostGrades, shop::kFrostGrades);
  MatrixXd chipping = MatrixXd::Zero(shop::kChippingGrades, shop::kChippingGrades);

  void count(const SwatchGrade& first, const SwatchGrade& second, double weight) {
    if (first.frost && second.frost) frost(*first.frost, *second.frost) += weight;
    if (first.chipping && second.chipping) chipping(*first.chipping, *second.chipping) += weight;
  }
};

Kappa quadratic_kappa(const MatrixXd& counts) {
  return weighted_kappa(counts,
                        disagreement_weights(KappaWeights::quadratic, static_cast<int>(counts.rows())));
}

double mean_difference(const MatrixXd& counts) {
  const double n = counts.sum();
  double sum = 0;
  for (Index i = 0; i < counts.rows(); ++i) {
    for (Index j = 0; j < counts.cols(); ++j) sum += counts(i, j) * static_cast<double>(j - i);
  }
  return n > 0 ? sum / n : 0;
}

// Unbiased variance of column less row.
double variance_of_difference(const MatrixXd& counts) {
  const double n = counts.sum();
  if (n < 2) return 0;
  const double mean = mean_difference(counts);
  double square = 0;
  for (Index i = 0; i < counts.rows(); ++i) {
    for (Index j = 0; j < counts.cols(); ++j) {
      const double off = static_cast<double>(j - i) - mean;
      square += counts(i, j) * off * off;
    }
  }
  return square / (n - 1);
}

bool far_apart(const std::optional<int>& a, const std::optional<int>& b) {
  return a && b && std::abs(*a - *b) >= 2;
}

std::string place_of(const design::Swatch& swatch) {
  return swatch.bottle + '/' + std::to_string(swatch.burn) + '/' + shop::to_text(swatch.setting);
}

}  // namespace

MatrixXd disagreement_weights(KappaWeights kind, int grades) {
  FROSTCAL_ASSERT(grades > 1, "agreement needs at least two grades");
  MatrixXd weights(grades, grades);
  for (Index i = 0; i < grades; ++i) {
    for (Index j = 0; j < grades; ++j) {
      const double apart = static_cast<double>(std::abs(i - j));
      weights(i, j) = kind == KappaWeights::quadratic ? apart * apart
                      : kind == KappaWeights::linear  ? apart
                                                      : std::min(apart, 1.0);
    }
  }
  return weights;
}

Kappa weighted_kappa(const MatrixXd& counts, const MatrixXd& weights, double level) {
  FROSTCAL_ASSERT(counts.rows() == counts.cols() && weights.rows() == counts.rows() &&
                      weights.cols() == counts.cols() && counts.rows() > 1,
                  "agreement needs square tables of one size");
  FROSTCAL_ASSERT(counts.allFinite() && counts.minCoeff() >= 0 && weights.minCoeff() >= 0 &&
                      weights.maxCoeff() > 0 && weights.diagonal().cwiseAbs().maxCoeff() == 0,
                  "counts and disagreements must not be negative");
  FROSTCAL_ASSERT(level > 0 && level < 1, "an interval needs a level between 0 and 1");
  Kappa result;
  result.pairs = counts.sum();
  if (!(result.pairs > 0)) return result;
  const MatrixXd share = counts / result.pairs;
  const Estimate raw = estimate(share, weights, result.pairs);
  if (!raw.defined) return result;
  const MatrixXd by_chance = VectorXd(share.rowwise().sum()) * share.colwise().sum();
  const double pairs = result.pairs + kAddedPairs;
  const Estimate widened = estimate((counts + kAddedPairs * by_chance) / pairs, weights, result.pairs);
  const double half = numerics::normal_quantile(0.5 * (1 + level)) * widened.standard_error;
  result.defined = true;
  result.kappa = raw.kappa;
  result.standard_error = raw.standard_error;
  result.low = std::max(-1.0, std::min(raw.kappa, widened.kappa - half));
  result.high = std::min(1.0, std::max(raw.kappa, widened.kappa + half));
  return result;
}

std::vector<GraderAgreement> agreement_between_graders(const std::vector<GradedSwatches>& grids) {
  struct Found {
    PairTables tables;
    std::vector<std::string> apart;
  };
  std::map<std::pair<std::string, std::string>, Found> pairs;
  for (const GradedSwatches& graded : grids) {
    std::map<std::string, std::vector<const SwatchGrade*>> by_swatch;
    for (const SwatchGrade& grade : graded.grades) by_swatch[grade.swatch].push_back(&grade);
    for (auto& [swatch, grades] : by_swatch) {
      std::sort(grades.begin(), grades.end(),
                [](const SwatchGrade* a, const SwatchGrade* b) { return a->grader < b->grader; });
      for (std::size_t i = 0; i < grades.size(); ++i) {
        for (std::size_t j = i + 1; j < grades.size(); ++j) {
          Found& found = pairs[{grades[i]->grader, grades[j]->grader}];
          found.tables.count(*grades[i], *grades[j], 1);
          if (far_apart(grades[i]->frost, grades[j]->frost) ||
              far_apart(grades[i]->chipping, grades[j]->chipping)) {
            found.apart.push_back(graded.grid.id + ' ' + swatch);
          }
        }
      }
    }
  }
  std::vector<GraderAgreement> agreements;
  for (const auto& [names, found] : pairs) {
    agreements.push_back({names.first, names.second, quadratic_kappa(found.tables.frost),
                          quadratic_kappa(found.tables.chipping), mean_difference(found.tables.frost),
                          mean_difference(found.tables.chipping), variance_of_difference(found.tables.frost),
                          found.apart});
  }
  return agreements;
}

std::vector<GraderConsistency> consistency_over_repeats(const std::vector<GradedSwatches>& grids) {
  std::map<std::string, PairTables> tables;
  for (const GradedSwatches& graded : grids) {
    std::map<std::pair<std::string, std::string>, const SwatchGrade*> waiting;  // by grader and place
    for (const SwatchGrade& grade : graded.grades) {
      const design::Swatch* swatch = graded.grid.find(grade.swatch);
      if (swatch == nullptr) continue;
      const SwatchGrade*& first = waiting[{grade.grader, place_of(*swatch)}];
      if (first == nullptr) {
        first = &grade;
        continue;
      }
      tables[grade.grader].count(*first, grade, 0.5);
      tables[grade.grader].count(grade, *first, 0.5);
      first = nullptr;
    }
  }
  std::vector<GraderConsistency> consistencies;
  for (const auto& [grader, table] : tables) {
    consistencies.push_back({grader, quadratic_kappa(table.frost), quadratic_kappa(table.chipping)});
  }
  return consistencies;
}

}  // namespace frostcal::grades
