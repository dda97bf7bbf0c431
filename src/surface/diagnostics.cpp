#include "surface/diagnostics.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "numerics/normal_tail.hpp"
#include "surface/glass_change.hpp"
#include "surface/link_function.hpp"

namespace frostcal::surface {
namespace {

constexpr double kFamilyError = 0.05;
constexpr double kSmallP = 0.01;
// Taking a swatch out of a Laplace posterior is rough where it alone holds a place of the surface: on clean
// simulated grids of 48 the excess reached 7 standard deviations.
constexpr double kLeastExcess = 8;
constexpr double kClearEffect = 2.5;
constexpr double kClearChange = 3;
constexpr double kLeastChange = 0.05;  // of ln power
constexpr std::size_t kFewestForCorrelation = 10;

GradeRange range_of(const Observation& o, Response response) {
  return response == Response::frost ? o.frost : o.chipping;
}

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

Eigen::VectorXd mean_cutpoints(const ScaleComponent& c, Response response) {
  const int gaps = categories(response) - 2;
  Eigen::VectorXd cut(gaps + 1);
  cut(0) = kFirstCutpoint;
  for (int j = 0; j < gaps; ++j) cut(j + 1) = cut(j) + kGapMean + kGapSd * c.mean(c.mean.size() - gaps + j);
  return cut;
}

/// P(grade <= j), j = 0..top-1, with the grade's own site divided out of the posterior N(mean, variance) of
/// eta.
Eigen::VectorXd left_out_cdf(Link link, const Eigen::VectorXd& cut, double noise, int grade, double weight,
                             double mean, double variance) {
  const double infinity = std::numeric_limits<double>::infinity();
  const double a = grade < cut.size() ? (cut(grade) - mean) / noise : infinity;
  const double b = grade > 0 ? (cut(grade - 1) - mean) / noise : -infinity;
  const IntervalTerm t = interval_term(link, a, b);
  const double gradient = -weight * (t.da + t.db) / noise;
  const double curvature = std::max(0.0, -weight * (t.daa + 2 * t.dab + t.dbb) / (noise * noise));
  const double precision = std::max(1 / variance - curvature, 0.05 / variance);
  const double left_mean = mean - gradient / precision;
  Eigen::VectorXd cdf(cut.size());
  for (Eigen::Index j = 0; j < cut.size(); ++j) {
    cdf(j) = averaged_link_cdf(link, cut(j) - left_mean, 1 / precision, noise);
  }
  return cdf;
}

GradeResidual residual_of(const Observation& o, int grade, const Eigen::VectorXd& cdf) {
  GradeResidual r;
  r.swatch = o.swatch;
  const Eigen::Index top = cdf.size();
  for (Eigen::Index j = 0; j <= top; ++j) {
    const double p = std::max(1e-12, (j < top ? cdf(j) : 1.0) - (j > 0 ? cdf(j - 1) : 0.0));
    r.expected += p * static_cast<double>(j);
    r.surprise_mean -= p * std::log(p);
    r.surprise_variance += p * std::log(p) * std::log(p);
    if (j == grade) r.surprise = -std::log(p);
  }
  r.surprise_variance -= r.surprise_mean * r.surprise_mean;
  r.lower = grade > 0 ? cdf(grade - 1) : 0;
  r.upper = grade < top ? cdf(grade) : 1;
  r.score = numerics::normal_quantile(std::clamp(0.5 * (r.lower + r.upper), 1e-9, 1 - 1e-9));
  return r;
}

double two_sided(double z) {
  return 2 * numerics::normal_cdf(-std::fabs(z));
}

double correlation(const std::vector<double>& x, const std::vector<double>& y) {
  const Eigen::Map<const Eigen::ArrayXd> a(x.data(), static_cast<Eigen::Index>(x.size()));
  const Eigen::Map<const Eigen::ArrayXd> b(y.data(), static_cast<Eigen::Index>(y.size()));
  const Eigen::ArrayXd da = a - a.mean();
  const Eigen::ArrayXd db = b - b.mean();
  const double scale = std::sqrt(da.square().sum() * db.square().sum());
  return scale > 1e-12 ? std::clamp((da * db).sum() / scale, -0.999999, 0.999999) : 0.0;
}

/// Adds a finding when the correlation is clear of 0 by Fisher's z (R. A. Fisher, Metron 1 (1921) 3-32).
void add_correlation(FindingKind kind, Response response, const std::string& subject,
                     const std::vector<double>& x, const std::vector<double>& y,
                     std::vector<Finding>& findings) {
  if (x.size() < kFewestForCorrelation) return;
  const double r = correlation(x, y);
  const double p = two_sided(std::atanh(r) * std::sqrt(static_cast<double>(x.size()) - 3));
  if (p < kSmallP) findings.push_back({kind, response, subject, r, p, {}});
}

void add_effects(const GlassSurface& surface, Response response,
                 const std::vector<const Observation*>& swatches, std::vector<Finding>& findings) {
  const ResponsePosterior& posterior = surface.posterior(response);
  const std::vector<LocalEffect>& effects = surface.rows().effects;
  for (std::size_t e = 0; e < effects.size(); ++e) {
    if (effects[e].kind != EffectKind::bottle && effects[e].kind != EffectKind::grader) continue;
    double mean = 0;
    double square = 0;
    for (const ScaleComponent& c : posterior.components) {
      const Eigen::Index at =
          c.mean.size() - posterior.gaps() - posterior.local_effects + static_cast<Eigen::Index>(e);
      mean += c.weight * c.mean(at);
      square += c.weight * (c.covariance(at, at) + c.mean(at) * c.mean(at));
    }
    const double z = mean / std::sqrt(std::max(square - mean * mean, 1e-12));
    if (std::fabs(z) < kClearEffect) continue;
    const bool bottle = effects[e].kind == EffectKind::bottle;
    Finding finding{bottle ? FindingKind::bottle_differs : FindingKind::grader_differs,
                    response,
                    effects[e].name,
                    mean,
                    two_sided(z),
                    {}};
    for (const Observation* o : swatches) {
      if ((bottle ? o->bottle : o->grader) == effects[e].name) finding.swatches.push_back(o->swatch);
    }
    findings.push_back(std::move(finding));
  }
}

void add_residual_findings(Response response, const std::vector<const Observation*>& swatches,
                           const std::vector<GradeResidual>& residuals, std::vector<Finding>& findings) {
  if (residuals.empty()) return;
  std::vector<double> x, y, score;
  double excess = 0;
  double variance = 0;
  for (std::size_t i = 0; i < residuals.size(); ++i) {
    const GradeResidual& r = residuals[i];
    const double p = std::min(1.0, 2 * std::min(r.upper, 1 - r.lower));
    if (p < kFamilyError / static_cast<double>(residuals.size())) {
      findings.push_back({FindingKind::swatch_disagrees,
                          response,
                          "",
                          grade_of(*swatches[i], response) - r.expected,
                          p,
                          {r.swatch}});
    }
    x.push_back(swatches[i]->x_mm);
    y.push_back(swatches[i]->y_mm);
    score.push_back(r.score);
    excess += r.surprise - r.surprise_mean;
    variance += r.surprise_variance;
  }
  add_correlation(FindingKind::position_trend, response, "x", x, score, findings);
  add_correlation(FindingKind::position_trend, response, "y", y, score, findings);
  const double z = excess / std::sqrt(std::max(variance, 1e-12));
  const double p = numerics::normal_cdf(-z);
  if (z > kLeastExcess && residuals.size() >= kFewestForCorrelation) {
    findings.push_back({FindingKind::lack_of_fit, response, "", z, p, {}});
  }
}

}  // namespace

std::vector<GradeResidual> grade_residuals(const GlassSurface& surface, Response response,
                                           const std::vector<Observation>& observations) {
  const std::vector<const Observation*> swatches = graded(surface, response, observations);
  std::vector<GradeResidual> residuals;
  if (swatches.empty()) return residuals;
  std::vector<PhysicalSetting> settings;
  for (const Observation* o : swatches) settings.push_back(o->setting);
  const Eigen::Matrix4Xd u = surface.basis().coordinates_of(settings);
  std::vector<Occasion> occasions;
  for (const Observation* o : swatches) occasions.push_back(occasion_of(surface.rows(), *o));
  const Eigen::MatrixXd locals = local_design(surface.rows(), response, surface.basis(), u, occasions);
  Eigen::MatrixXd cdf =
      Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(swatches.size()), categories(response) - 1);
  for (const ScaleComponent& c : surface.posterior(response).components) {
    const Eigen::MatrixXd features = surface.basis().evaluate(u, c.length_choice, c.dose_shift);
    Eigen::MatrixXd all(features.rows(), features.cols() + locals.cols());
    all << features, locals;
    const Eigen::MatrixXd half = all * c.covariance.topLeftCorner(all.cols(), all.cols());
    const Eigen::VectorXd mean = all * c.mean.head(all.cols());
    const Eigen::VectorXd variance = half.cwiseProduct(all).rowwise().sum().cwiseMax(1e-9);
    const Eigen::VectorXd cut = mean_cutpoints(c, response);
    for (Eigen::Index i = 0; i < cdf.rows(); ++i) {
      cdf.row(i) += c.weight * left_out_cdf(surface.link(), cut, c.noise, grade_of(*swatches[i], response),
                                            swatches[i]->weight, mean(i), variance(i))
                                   .transpose();
    }
  }
  for (std::size_t i = 0; i < swatches.size(); ++i) {
    residuals.push_back(residual_of(*swatches[i], grade_of(*swatches[i], response),
                                    cdf.row(static_cast<Eigen::Index>(i)).transpose()));
  }
  return residuals;
}

std::vector<Finding> diagnose(const GlassSurface& surface, const std::vector<Observation>& observations) {
  std::vector<Finding> findings;
  std::map<const Observation*, double> frost_score;
  std::vector<double> frost_both, chipping_both;
  for (const Response r : {Response::frost, Response::chipping}) {
    const std::vector<const Observation*> swatches = graded(surface, r, observations);
    const std::vector<GradeResidual> residuals = grade_residuals(surface, r, observations);
    add_residual_findings(r, swatches, residuals, findings);
    if (!swatches.empty()) add_effects(surface, r, swatches, findings);
    for (std::size_t i = 0; i < swatches.size(); ++i) {
      if (r == Response::frost) {
        frost_score[swatches[i]] = residuals[i].score;
      } else if (frost_score.count(swatches[i])) {
        frost_both.push_back(frost_score[swatches[i]]);
        chipping_both.push_back(residuals[i].score);
      }
    }
  }
  if (const std::optional<GlassChange> change = newest_grid_change(surface, observations)) {
    const double z = change->ln_power / change->sd;
    if (std::fabs(z) > kClearChange && std::fabs(change->ln_power) > kLeastChange) {
      findings.push_back({FindingKind::glass_changed, Response::frost, change->grid, change->ln_power,
                          two_sided(z), change->swatches});
    }
  }
  add_correlation(FindingKind::responses_associated, Response::frost, "", frost_both, chipping_both,
                  findings);
  std::stable_sort(findings.begin(), findings.end(),
                   [](const Finding& a, const Finding& b) { return a.kind < b.kind; });
  return findings;
}

}  // namespace frostcal::surface
