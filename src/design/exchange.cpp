#include "design/exchange.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <limits>

#include "errors/bug.hpp"
#include "numerics/random_engine.hpp"

namespace frostcal::design {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

constexpr double kRidge = 1e-7;  // keeps a design with one run taken out invertible

MatrixXd information(const MatrixXd& candidates, const std::vector<Index>& rows) {
  MatrixXd x(static_cast<Index>(rows.size()), candidates.cols());
  for (std::size_t i = 0; i < rows.size(); ++i) x.row(static_cast<Index>(i)) = candidates.row(rows[i]);
  return x.transpose() * x;
}

MatrixXd inverse(const MatrixXd& matrix) {
  return Eigen::LDLT<MatrixXd>(matrix).solve(MatrixXd::Identity(matrix.rows(), matrix.cols()));
}

// The candidate whose run serves the criterion best, added to a design of which `inverse` is (X'X)^-1. For D
// it maximises f' A f; for I the fall of trace(A B), which is f' A B A f / (1 + f' A f).
Index best_addition(const MatrixXd& candidates, const MatrixXd& a, const MatrixXd& moment,
                    Criterion criterion) {
  const MatrixXd spread = candidates * a;
  const VectorXd variance = spread.cwiseProduct(candidates).rowwise().sum();
  Index best = 0;
  if (criterion == Criterion::d) {
    variance.maxCoeff(&best);
    return best;
  }
  const VectorXd fall = (spread * moment).cwiseProduct(spread).rowwise().sum();
  (fall.array() / (1 + variance.array())).maxCoeff(&best);
  return best;
}

double score(const OptimalDesign& design, Criterion criterion) {
  return criterion == Criterion::d ? design.log_det : -design.mean_variance;
}

}  // namespace

double d_value(double log_det, Index terms, Index runs) {
  return std::exp(log_det / static_cast<double>(terms)) / static_cast<double>(runs);
}

OptimalDesign evaluate_design(const MatrixXd& candidates, const std::vector<Index>& rows) {
  OptimalDesign design;
  design.rows = rows;
  std::sort(design.rows.begin(), design.rows.end());
  const MatrixXd m = information(candidates, rows);
  const Eigen::LLT<MatrixXd> factor(m);
  if (factor.info() != Eigen::Success) {
    design.log_det = -std::numeric_limits<double>::infinity();
    design.mean_variance = design.largest_variance = std::numeric_limits<double>::infinity();
    return design;
  }
  design.log_det = 2 * MatrixXd(factor.matrixL()).diagonal().array().log().sum();
  const MatrixXd a = factor.solve(MatrixXd::Identity(m.rows(), m.cols()));
  const VectorXd variance = (candidates * a).cwiseProduct(candidates).rowwise().sum();
  design.mean_variance = variance.mean();
  design.largest_variance = variance.maxCoeff();
  return design;
}

OptimalDesign exchange(const MatrixXd& candidates, const ExchangeOptions& options) {
  const Index count = candidates.rows();
  const Index p = candidates.cols();
  FROSTCAL_ASSERT(options.runs >= p && count >= 1, "a design needs as many runs as terms");
  const MatrixXd moment = candidates.transpose() * candidates / static_cast<double>(count);
  const MatrixXd ridge = kRidge * MatrixXd::Identity(p, p);
  numerics::RandomEngine random(options.seed);
  OptimalDesign best;
  for (int start = 0; start < options.starts; ++start) {
    std::vector<Index> rows;
    for (int i = 0; i < options.runs; ++i) {
      rows.push_back(static_cast<Index>(random.below(static_cast<std::uint64_t>(count))));
    }
    OptimalDesign current = evaluate_design(candidates, rows);
    for (int pass = 0; pass < options.passes; ++pass) {
      bool changed = false;
      for (std::size_t i = 0; i < rows.size(); ++i) {
        const Index old = rows[i];
        const VectorXd taken = candidates.row(old);
        const MatrixXd without = information(candidates, rows) - taken * taken.transpose() + ridge;
        rows[i] = best_addition(candidates, inverse(without), moment, options.criterion);
        if (rows[i] == old) continue;
        const OptimalDesign tried = evaluate_design(candidates, rows);
        if (score(tried, options.criterion) > score(current, options.criterion) + 1e-10) {
          current = tried;
          changed = true;
        } else {
          rows[i] = old;
        }
      }
      if (!changed) break;
    }
    if (best.rows.empty() || score(current, options.criterion) > score(best, options.criterion) + 1e-10) {
      best = current;
    }
  }
  FROSTCAL_ASSERT(std::isfinite(best.log_det), "the candidates do not span the model");
  return best;
}

}  // namespace frostcal::design
