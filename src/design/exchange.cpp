#include "design/exchange.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "design/quadratic_model.hpp"
#include "errors/bug.hpp"
#include "numerics/quadratic_form.hpp"
#include "numerics/random_engine.hpp"

namespace frostcal::design {

namespace {

// An exchange must improve the criterion by more than rounding: this share of det or of the mean variance.
constexpr double kLeastGain = 1e-9;
// Below this ratio of smallest to largest diagonal entry of the Cholesky factor F'F is taken for singular.
constexpr double kSingular = 1e-7;
// Added to the diagonal while a start is grown and F'F is still singular.
constexpr double kRidge = 1e-4;

// (F'F)^-1 and what of it the exchanges need, kept for all candidates.
class Information {
 public:
  Information(const Eigen::MatrixXd& candidates, const Eigen::MatrixXd& moments, Criterion criterion)
      : candidates_(candidates), moments_(moments), criterion_(criterion) {}

  bool refresh(const std::vector<int>& rows) {
    const Eigen::Index p = candidates_.cols();
    Eigen::MatrixXd m = Eigen::MatrixXd::Zero(p, p);
    for (const int row : rows) m += candidates_.row(row).transpose() * candidates_.row(row);
    const Eigen::LLT<Eigen::MatrixXd> cholesky(m);
    if (cholesky.info() != Eigen::Success) return false;
    const Eigen::VectorXd diagonal = cholesky.matrixLLT().diagonal();
    if (diagonal.minCoeff() < kSingular * diagonal.maxCoeff()) return false;
    inverse_ = cholesky.solve(Eigen::MatrixXd::Identity(p, p));
    log_det_ = 2 * diagonal.array().log().sum();
    mean_variance_ = inverse_.cwiseProduct(moments_).sum();
    return true;
  }

  void spread_to_candidates() {
    variance_ = numerics::quadratic_forms(candidates_, inverse_);
    if (criterion_ != Criterion::i) return;
    weighted_ = inverse_ * moments_ * inverse_;
    weighted_variance_ = numerics::quadratic_forms(candidates_, weighted_);
  }

  // Writes det(M') / det(M) for every candidate that could take the place of `out`.
  const Eigen::ArrayXd& det_ratios(int out) {
    const Eigen::VectorXd toward = inverse_ * candidates_.row(out).transpose();
    covariance_ = candidates_ * toward;
    ratios_ = (1 + variance_.array()) * (1 - variance_(out)) + covariance_.array().square();
    return ratios_;
  }

  // The candidate to take the place of `out` and by what share it improves the criterion.
  std::pair<int, double> best_swap(int out) {
    const Eigen::ArrayXd& ratios = det_ratios(out);
    Eigen::Index best = 0;
    if (criterion_ == Criterion::d) {
      const double ratio = ratios.maxCoeff(&best);
      return {static_cast<int>(best), ratio - 1};
    }
    // M' = M + U C U' with U = (f_in, f_out), C = diag(1, -1), and the Woodbury identity.
    const Eigen::VectorXd toward = weighted_ * candidates_.row(out).transpose();
    weighted_covariance_ = candidates_ * toward;
    gains_ = ((1 - variance_(out)) * weighted_variance_.array() +
              2 * covariance_.array() * weighted_covariance_.array() -
              (1 + variance_.array()) * weighted_variance_(out)) /
             ratios;
    gains_ = (ratios > kLeastGain).select(gains_, -1e300);
    const double gain = gains_.maxCoeff(&best);
    return {static_cast<int>(best), gain / mean_variance_};
  }

  double log_det() const { return log_det_; }
  double mean_variance() const { return mean_variance_; }

 private:
  const Eigen::MatrixXd& candidates_;
  const Eigen::MatrixXd& moments_;
  Criterion criterion_;
  Eigen::MatrixXd inverse_;
  Eigen::MatrixXd weighted_;
  Eigen::VectorXd variance_, weighted_variance_, covariance_, weighted_covariance_;
  Eigen::ArrayXd ratios_, gains_;
  double log_det_ = 0;
  double mean_variance_ = 0;
};

ExchangeResult result_of(const Information& information, std::vector<int> rows) {
  std::sort(rows.begin(), rows.end());
  ExchangeResult result;
  result.rows = std::move(rows);
  result.estimable = true;
  result.log_det = information.log_det();
  result.mean_variance = information.mean_variance();
  return result;
}

std::vector<int> grown_start(const Eigen::MatrixXd& candidates, int runs, numerics::RandomEngine& random) {
  const Eigen::Index p = candidates.cols();
  const auto count = static_cast<std::uint64_t>(candidates.rows());
  const int at_random = 1 + static_cast<int>(random.below(static_cast<std::uint64_t>(runs)));
  std::vector<int> rows;
  Eigen::MatrixXd inverse = Eigen::MatrixXd::Identity(p, p) / kRidge;
  Eigen::VectorXd variance = numerics::quadratic_forms(candidates, inverse);
  while (static_cast<int>(rows.size()) < runs) {
    Eigen::Index next = 0;
    if (static_cast<int>(rows.size()) < at_random) {
      next = static_cast<Eigen::Index>(random.below(count));
    } else {
      variance.maxCoeff(&next);
    }
    rows.push_back(static_cast<int>(next));
    const Eigen::VectorXd toward = inverse * candidates.row(next).transpose();
    const double scale = 1 / (1 + variance(next));
    inverse -= scale * toward * toward.transpose();
    const Eigen::VectorXd covariance = candidates * toward;
    variance.array() -= scale * covariance.array().square();
  }
  return rows;
}

}  // namespace

double loss(const ExchangeResult& result, Criterion criterion) {
  if (!result.estimable) return std::numeric_limits<double>::infinity();
  return criterion == Criterion::d ? -result.log_det : std::log(result.mean_variance);
}

ExchangeResult judge(const Eigen::MatrixXd& candidates, const Eigen::MatrixXd& moments,
                     const std::vector<int>& rows) {
  Information information(candidates, moments, Criterion::d);
  if (!information.refresh(rows)) return {};
  return result_of(information, rows);
}

ExchangeResult improve(const Eigen::MatrixXd& candidates, const Eigen::MatrixXd& moments,
                       const std::vector<int>& rows, const ExchangeOptions& options) {
  Information information(candidates, moments, options.criterion);
  std::vector<int> design = rows;
  if (!information.refresh(design)) return {};
  information.spread_to_candidates();
  ExchangeResult best = result_of(information, design);
  for (int sweep = 0; sweep < options.sweeps && !best.converged; ++sweep) {
    bool changed = false;
    for (int& out : design) {
      const auto [in, gain] = information.best_swap(out);
      if (gain <= kLeastGain || in == out) continue;
      const int was = out;
      out = in;
      // Rounding may promise a gain that isn't there: only what is recomputed counts.
      const bool estimable = information.refresh(design);
      ExchangeResult now;
      if (estimable) now = result_of(information, design);
      if (!estimable || loss(now, options.criterion) >= loss(best, options.criterion)) {
        out = was;
        information.refresh(design);
        continue;
      }
      information.spread_to_candidates();
      best = now;
      changed = true;
    }
    best.converged = !changed;
  }
  return best;
}

ExchangeResult exchange(const Eigen::MatrixXd& candidates, const Eigen::MatrixXd& moments, int runs,
                        const ExchangeOptions& options) {
  FROSTCAL_ASSERT(candidates.rows() > 0 && runs > 0 && options.starts > 0,
                  "an exchange needs candidates, runs and a start");
  if (runs < candidates.cols()) return {};
  numerics::RandomEngine random(options.seed);
  ExchangeResult best;
  for (int start = 0; start < options.starts; ++start) {
    const std::vector<int> grown = grown_start(candidates, runs, random);
    const ExchangeResult found = improve(candidates, moments, grown, options);
    if (!found.estimable) continue;
    if (!best.estimable || loss(found, options.criterion) < loss(best, options.criterion) - 1e-12)
      best = found;
  }
  return best;
}

}  // namespace frostcal::design
