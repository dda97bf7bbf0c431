#include "surface/grade_residuals.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <tuple>

#include "numerics/normal_tail.hpp"
#include "numerics/stable_log.hpp"
#include "surface/link_function.hpp"

namespace frostcal::surface {
namespace {

constexpr double kLeastProbability = 1e-12;
constexpr double kMostSurprise = 3;  // P = 0.05: a single wild grade says little of the surface

/// Mean and covariance of (cutpoint j - eta), j = 0..cuts-1, at one swatch.
struct Contrasts {
  Eigen::VectorXd mean;
  Eigen::MatrixXd covariance;
};

using RowKey = std::tuple<double, double, double, double, int, int, int, int, int, int, int>;

RowKey key_of(const Coordinates& u, const Occasion& o, int grade) {
  return {u(0), u(1), u(2), u(3), o.bottle, o.burn, o.grader, o.day, o.trend, o.days_ago, grade};
}

std::map<RowKey, std::size_t> index_rows(const ResponseRows& rows) {
  std::map<RowKey, std::size_t> index;
  for (std::size_t i = 0; i < rows.cell.size(); ++i) {
    if (rows.lowest[i] != rows.highest[i]) continue;  // a range has no residual
    const int cell = rows.cell[i];
    index[key_of(rows.u.col(cell), rows.occasions[static_cast<std::size_t>(cell)], rows.lowest[i])] = i;
  }
  return index;
}

/// The site of a grade that has none of its own: the quadratic of its log probability at the mean.
GradeSite quadratic_site(Link link, const Contrasts& c, double noise, int grade) {
  const double infinity = std::numeric_limits<double>::infinity();
  const bool has_upper = grade < c.mean.size();
  const bool has_lower = grade > 0;
  const double upper = has_upper ? c.mean(grade) : 0;
  const double lower = has_lower ? c.mean(grade - 1) : 0;
  const IntervalTerm t =
      interval_term(link, has_upper ? upper / noise : infinity, has_lower ? lower / noise : -infinity);
  const double square = noise * noise;
  GradeSite s{0, 0, -t.daa / square, -t.dbb / square, -t.dab / square};
  s.h_upper = t.da / noise + s.upper * upper + s.cross * lower;
  s.h_lower = t.db / noise + s.lower * lower + s.cross * upper;
  return s;
}

/// Divides `weight` times the site out: with A choosing the site's contrasts and M = (I - S A V A')^-1,
/// V + V A' M S A V and m + V A' M (S A m - h). Less of it where what is left would be no distribution.
Contrasts without_site(const Contrasts& c, const GradeSite& site, double weight, int grade) {
  const Eigen::Index cuts = c.mean.size();
  Eigen::MatrixXd choose = Eigen::MatrixXd::Zero(2, cuts);
  if (grade < cuts) choose(0, grade) = 1;
  if (grade > 0) choose(1, grade - 1) = 1;
  const Eigen::MatrixXd half = c.covariance * choose.transpose();  // cuts x 2
  const Eigen::Matrix2d seen = choose * half;
  double share = weight;
  for (int attempt = 0; attempt < 8; ++attempt, share *= 0.7) {
    Eigen::Matrix2d s;
    s << site.upper, site.cross, site.cross, site.lower;
    s *= share;
    const Eigen::Vector2d h = share * Eigen::Vector2d(site.h_upper, site.h_lower);
    const Eigen::Matrix2d inner = Eigen::Matrix2d::Identity() - s * seen;
    if (!(inner.determinant() > 1e-6)) continue;
    const Eigen::Matrix2d m = inner.inverse();
    Contrasts out;
    out.covariance = c.covariance + half * (m * s) * half.transpose();
    if (!(out.covariance.diagonal().minCoeff() > 0)) continue;
    const Eigen::Vector2d at = choose * c.mean;
    const Eigen::Vector2d shift = m * (s * at - h);
    out.mean = c.mean + half * shift;
    return out;
  }
  return c;
}

/// P(grade <= j), j = 0..cuts-1.
Eigen::VectorXd predictive_cdf(Link link, const Contrasts& c, double noise) {
  Eigen::VectorXd cdf(c.mean.size());
  for (Eigen::Index j = 0; j < cdf.size(); ++j) {
    cdf(j) = averaged_link_cdf(link, c.mean(j), std::max(c.covariance(j, j), 0.0), noise);
  }
  for (Eigen::Index j = 1; j < cdf.size(); ++j) cdf(j) = std::max(cdf(j), cdf(j - 1));
  return cdf;
}

double probability(const Eigen::VectorXd& cdf, Eigen::Index grade) {
  const double upto = grade < cdf.size() ? cdf(grade) : 1.0;
  return std::max(kLeastProbability, upto - (grade > 0 ? cdf(grade - 1) : 0.0));
}

/// Each swatch's contrasts under one component.
std::vector<Contrasts> contrasts_of(const ScaleComponent& c, const Eigen::MatrixXd& all, int gaps) {
  const Eigen::Index seen = all.cols();
  const Eigen::MatrixXd half = all * c.covariance.topRows(seen);
  const Eigen::VectorXd eta = all * c.mean.head(seen);
  const Eigen::VectorXd eta_variance = half.leftCols(seen).cwiseProduct(all).rowwise().sum().cwiseMax(1e-9);
  Eigen::MatrixXd steps = Eigen::MatrixXd::Zero(gaps + 1, gaps);  // cutpoints from the gaps
  for (int j = 1; j <= gaps; ++j) steps.row(j).head(j).setConstant(kGapSd);
  const Eigen::VectorXd cut =
      Eigen::VectorXd::LinSpaced(gaps + 1, kFirstCutpoint, kFirstCutpoint + gaps * kGapMean) +
      steps * c.mean.tail(gaps);
  const Eigen::MatrixXd of_cuts = steps * c.covariance.bottomRightCorner(gaps, gaps) * steps.transpose();
  const Eigen::MatrixXd with_cuts = half.rightCols(gaps) * steps.transpose();  // n x cuts
  std::vector<Contrasts> out(static_cast<std::size_t>(all.rows()));
  for (Eigen::Index i = 0; i < all.rows(); ++i) {
    Contrasts& one = out[static_cast<std::size_t>(i)];
    one.mean = cut.array() - eta(i);
    one.covariance = of_cuts;
    one.covariance.colwise() -= with_cuts.row(i).transpose();
    one.covariance.rowwise() -= with_cuts.row(i);
    one.covariance.array() += eta_variance(i);
  }
  return out;
}

GradeRange range_of(const Observation& o, Response response) {
  return response == Response::frost ? o.frost : o.chipping;
}

GradeResidual residual_of(const Observation& o, int grade, const Eigen::VectorXd& cdf) {
  GradeResidual r;
  r.swatch = o.swatch;
  const Eigen::Index top = cdf.size();
  for (Eigen::Index j = 0; j <= top; ++j) {
    const double p = probability(cdf, j);
    r.expected += p * static_cast<double>(j);
    const double surprise = std::min(-std::log(p), kMostSurprise);
    r.surprise_mean += p * surprise;
    r.surprise_variance += p * surprise * surprise;
    if (j == grade) r.surprise = surprise;
  }
  r.surprise_variance -= r.surprise_mean * r.surprise_mean;
  r.lower = grade > 0 ? cdf(grade - 1) : 0;
  r.upper = grade < top ? cdf(grade) : 1;
  r.score = numerics::normal_quantile(std::clamp(0.5 * (r.lower + r.upper), 1e-9, 1 - 1e-9));
  return r;
}

}  // namespace

int grade_of(const Observation& o, Response response) {
  return range_of(o, response).lowest;
}

std::vector<const Observation*> graded(const GlassSurface& surface, Response response,
                                       const std::vector<Observation>& observations) {
  std::vector<const Observation*> out;
  for (const Observation& o : observations) {
    const GradeRange grade = range_of(o, response);
    if (o.glass != surface.glass() || !(o.weight > 0) || grade == kNotGraded) continue;
    if (grade.is_plain()) out.push_back(&o);
  }
  return out;
}

std::vector<GradeResidual> grade_residuals(const GlassSurface& surface, Response response,
                                           const std::vector<Observation>& observations) {
  const std::vector<const Observation*> swatches = graded(surface, response, observations);
  std::vector<GradeResidual> residuals;
  if (swatches.empty()) return residuals;
  const ResponsePosterior& posterior = surface.posterior(response);
  const std::size_t n = swatches.size();
  std::vector<PhysicalSetting> settings;
  std::vector<Occasion> occasions;
  for (const Observation* o : swatches) {
    settings.push_back(o->setting);
    occasions.push_back(occasion_of(surface.rows(), *o));
  }
  const Eigen::Matrix4Xd u = surface.basis().coordinates_of(settings);
  const Eigen::MatrixXd locals = local_design(surface.rows(), response, surface.basis(), u, occasions);
  const std::map<RowKey, std::size_t> rows = index_rows(surface.rows().rows(response));

  const std::size_t count = posterior.components.size();
  std::vector<std::vector<Eigen::VectorXd>> cdf(n);  // by component
  Eigen::MatrixXd log_weight(static_cast<Eigen::Index>(count), static_cast<Eigen::Index>(n));
  for (std::size_t k = 0; k < count; ++k) {
    const ScaleComponent& c = posterior.components[k];
    const Eigen::MatrixXd features = surface.basis().evaluate(u, c.length_choice, c.dose_shift);
    Eigen::MatrixXd all(features.rows(), features.cols() + locals.cols());
    all << features, locals;
    const std::vector<Contrasts> contrasts = contrasts_of(c, all, posterior.gaps());
    for (std::size_t i = 0; i < n; ++i) {
      const Eigen::Index column = static_cast<Eigen::Index>(i);
      const int grade = grade_of(*swatches[i], response);
      const auto row = rows.find(key_of(u.col(column), occasions[i], grade));
      const bool fitted = row != rows.end();
      Contrasts left = contrasts[i];
      if (fitted) {
        const GradeSite site =
            c.sites.empty() ? quadratic_site(surface.link(), left, c.noise, grade) : c.sites[row->second];
        left = without_site(left, site, swatches[i]->weight, grade);
      }
      cdf[i].push_back(predictive_cdf(surface.link(), left, c.noise));
      log_weight(static_cast<Eigen::Index>(k), column) =
          std::log(c.weight) -
          (fitted ? swatches[i]->weight * std::log(probability(cdf[i].back(), grade)) : 0.0);
    }
  }
  for (std::size_t i = 0; i < n; ++i) {
    const Eigen::VectorXd logs = log_weight.col(static_cast<Eigen::Index>(i));
    const double total = numerics::log_sum_exp(logs);
    Eigen::VectorXd mixed = Eigen::VectorXd::Zero(categories(response) - 1);
    for (std::size_t k = 0; k < count; ++k) {
      mixed += std::exp(logs(static_cast<Eigen::Index>(k)) - total) * cdf[i][k];
    }
    residuals.push_back(residual_of(*swatches[i], grade_of(*swatches[i], response), mixed));
  }
  return residuals;
}

}  // namespace frostcal::surface
