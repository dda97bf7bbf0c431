#include "surface/left_out_grades.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <limits>

#include "errors/bug.hpp"
#include "numerics/stable_log.hpp"

namespace frostcal::surface {
namespace {

constexpr double kLeastProbability = 1e-12;

double left_out_weight(const CumulativeLinkModel& m, Eigen::Index row) {
  return std::min(1.0, m.weight_at(row));
}

/// Mean and covariance of (cutpoint j - eta), j = 0..J-2, at one row.
struct Contrasts {
  Eigen::VectorXd mean;
  Eigen::MatrixXd covariance;
};

/// The site of a grade that has none of its own: the quadratic of its log probability at the mean.
RowQuadratic quadratic_site(Link link, const Eigen::VectorXd& mean, double noise, int grade) {
  const double infinity = std::numeric_limits<double>::infinity();
  const bool has_upper = grade < mean.size();
  const bool has_lower = grade > 0;
  const double upper = has_upper ? mean(grade) : 0;
  const double lower = has_lower ? mean(grade - 1) : 0;
  const IntervalTerm t =
      interval_term(link, has_upper ? upper / noise : infinity, has_lower ? lower / noise : -infinity);
  const double square = noise * noise;
  RowQuadratic s{0, 0, -t.daa / square, -t.dbb / square, -t.dab / square};
  s.h_upper = t.da / noise + s.upper * upper + s.cross * lower;
  s.h_lower = t.db / noise + s.lower * lower + s.cross * upper;
  return s;
}

/// Divides `weight` times the site out: with A choosing the site's contrasts and M = (I - S A V A')^-1,
/// V + V A' M S A V and m + V A' M (S A m - h). Less of it where what is left would be no distribution.
void leave_out(const RowQuadratic& site, double weight, int grade, Contrasts& c) {
  const Eigen::Index cuts = c.mean.size();
  Eigen::Matrix<double, Eigen::Dynamic, 2> half = Eigen::Matrix<double, Eigen::Dynamic, 2>::Zero(cuts, 2);
  Eigen::Vector2d at = Eigen::Vector2d::Zero();
  const Eigen::Index chosen[2] = {grade, grade - 1};
  for (int a = 0; a < 2; ++a) {
    if (chosen[a] < 0 || chosen[a] >= cuts) continue;
    half.col(a) = c.covariance.col(chosen[a]);
    at(a) = c.mean(chosen[a]);
  }
  Eigen::Matrix2d seen = Eigen::Matrix2d::Zero();
  for (int a = 0; a < 2; ++a) {
    if (chosen[a] >= 0 && chosen[a] < cuts) seen.row(a) = half.row(chosen[a]);
  }
  double share = weight;
  for (int attempt = 0; attempt < 8; ++attempt, share *= 0.7) {
    Eigen::Matrix2d s;
    s << site.upper, site.cross, site.cross, site.lower;
    s *= share;
    const Eigen::Vector2d h = share * Eigen::Vector2d(site.h_upper, site.h_lower);
    const Eigen::Matrix2d inner = Eigen::Matrix2d::Identity() - s * seen;
    if (!(inner.determinant() > 1e-6)) continue;
    const Eigen::Matrix2d m = inner.inverse();
    const Eigen::MatrixXd left = c.covariance + half * (m * s) * half.transpose();
    if (!(left.diagonal().minCoeff() > 0)) continue;
    c.mean += half * (m * (s * at - h));
    c.covariance = left;
    return;
  }
}

}  // namespace

Eigen::MatrixXd left_out_probabilities(const CumulativeLinkModel& m, const Eigen::VectorXd& mean,
                                       const ArrowFactor& factor, const std::vector<RowQuadratic>& sites) {
  const Eigen::Index n = m.design.rows();
  const Eigen::Index cuts = m.cutpoint_offset.size();
  const RowSpread spread = row_spread(m, factor);
  const Eigen::VectorXd eta = m.linear_predictor(mean);
  const Eigen::VectorXd cut = m.cutpoints(mean);
  Eigen::MatrixXd out = Eigen::MatrixXd::Zero(n, cuts);
  Contrasts c;
  for (Eigen::Index i = 0; i < n; ++i) {
    const int grade = m.category[static_cast<std::size_t>(i)];
    if (m.lowest_of(i) != grade) continue;
    c.mean = cut.array() - eta(i);
    c.covariance = spread.of_cuts;
    c.covariance.colwise() -= spread.with_cuts.row(i).transpose();
    c.covariance.rowwise() -= spread.with_cuts.row(i);
    c.covariance.array() += spread.of_eta(i);
    leave_out(
        sites.empty() ? quadratic_site(m.link, c.mean, m.noise, grade) : sites[static_cast<std::size_t>(i)],
        left_out_weight(m, i), grade, c);
    for (Eigen::Index j = 0; j < cuts; ++j) {
      const double upto = averaged_link_cdf(m.link, c.mean(j), std::max(c.covariance(j, j), 0.0), m.noise);
      out(i, j) = j == 0 ? upto : std::max(upto, out(i, j - 1));
    }
  }
  return out;
}

Eigen::MatrixXd mixed_left_out(const CumulativeLinkModel& rows,
                               const std::vector<Eigen::MatrixXd>& components,
                               const Eigen::VectorXd& weights) {
  FROSTCAL_ASSERT(weights.size() == static_cast<Eigen::Index>(components.size()) && weights.size() > 0,
                  "mixed_left_out: one weight for each component");
  Eigen::MatrixXd mixed = Eigen::MatrixXd::Zero(components[0].rows(), components[0].cols());
  Eigen::VectorXd logs(weights.size());
  for (Eigen::Index i = 0; i < mixed.rows(); ++i) {
    const int grade = rows.category[static_cast<std::size_t>(i)];
    for (Eigen::Index k = 0; k < weights.size(); ++k) {
      const Eigen::MatrixXd& cdf = components[static_cast<std::size_t>(k)];
      const double seen = (grade < cdf.cols() ? cdf(i, grade) : 1.0) - (grade > 0 ? cdf(i, grade - 1) : 0.0);
      logs(k) = std::log(weights(k)) - left_out_weight(rows, i) * std::log(std::max(kLeastProbability, seen));
    }
    const double total = numerics::log_sum_exp(logs);
    for (Eigen::Index k = 0; k < weights.size(); ++k) {
      mixed.row(i) += std::exp(logs(k) - total) * components[static_cast<std::size_t>(k)].row(i);
    }
  }
  return mixed;
}

}  // namespace frostcal::surface
