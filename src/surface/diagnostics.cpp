#include "surface/diagnostics.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "numerics/normal_tail.hpp"
#include "surface/glass_change.hpp"
#include "surface/grade_residuals.hpp"
#include "surface/lack_of_fit.hpp"
#include "surface/later_bottles.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::surface {
namespace {

constexpr double kFamilyError = 0.05;
constexpr double kSmallP = 0.01;
// Excesses are correlated and skewed: these limits and their rates are from simulated glasses, DEVELOPERS.md.
constexpr double kClearOverall = 2.5;
constexpr double kClearLocal = 4.5;
constexpr double kClearChange = 3;
constexpr double kLeastChange = 0.05;  // of ln power
constexpr double kProbable = 0.5;
constexpr std::size_t kFewestForCorrelation = 10;

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
  const std::vector<LocalEffect>& effects = surface.rows().effects;
  for (std::size_t e = 0; e < effects.size(); ++e) {
    if (effects[e].kind != EffectKind::bottle && effects[e].kind != EffectKind::grader) continue;
    const EffectSummary effect = effect_summary(surface, response, e);
    const double z = effect.mean / effect.sd;
    if (std::fabs(z) < kClearEffect) continue;
    const bool bottle = effects[e].kind == EffectKind::bottle;
    Finding finding{bottle ? FindingKind::bottle_differs : FindingKind::grader_differs,
                    response,
                    effects[e].name,
                    effect.mean,
                    two_sided(z),
                    {}};
    for (const Observation* o : swatches) {
      if ((bottle ? o->bottle : o->grader) == effects[e].name) finding.swatches.push_back(o->swatch);
    }
    findings.push_back(std::move(finding));
  }
}

void add_lack_of_fit(const SurfaceBasis& basis, Response response,
                     const std::vector<const Observation*>& swatches,
                     const std::vector<GradeResidual>& residuals, std::vector<Finding>& findings) {
  if (residuals.size() < 2 * kFewestNeighbours) return;
  const LackOfFit lack = lack_of_fit(basis, swatches, residuals);
  if (lack.overall > kClearOverall) {
    findings.push_back(
        {FindingKind::lack_of_fit, response, "all", lack.overall, numerics::normal_cdf(-lack.overall), {}});
  } else if (lack.local > kClearLocal) {
    findings.push_back({FindingKind::lack_of_fit, response, "near", lack.local,
                        numerics::normal_cdf(-lack.local), lack.swatches});
  }
}

void add_residual_findings(const SurfaceBasis& basis, Response response,
                           const std::vector<const Observation*>& swatches,
                           const std::vector<GradeResidual>& residuals, std::vector<Finding>& findings) {
  if (residuals.empty()) return;
  std::vector<double> x, y, score;
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
  }
  add_correlation(FindingKind::position_trend, response, "x", x, score, findings);
  add_correlation(FindingKind::position_trend, response, "y", y, score, findings);
  add_lack_of_fit(basis, response, swatches, residuals, findings);
}

/// What the newest bottles show together is told once, not of each bottle.
void add_later_bottles(const GlassSurface& surface, const std::vector<Observation>& observations,
                       std::vector<Finding>& findings) {
  if (const std::optional<LaterBottles> later = later_bottles(surface, observations)) {
    // The earlier ones are then off to the other side of the common mean.
    findings.erase(std::remove_if(findings.begin(), findings.end(),
                                  [&](const Finding& f) {
                                    return f.kind == FindingKind::bottle_differs &&
                                           f.response == later->response;
                                  }),
                   findings.end());
    findings.push_back({FindingKind::later_bottles_differ, later->response, textfile::joined(later->bottles),
                        later->grades, two_sided(kClearEffect), later->swatches});
  }
  const GlassRows& rows = surface.rows();
  if (rows.other_glass > kProbable && std::fabs(std::log1p(rows.change)) > kLeastChange)
    findings.push_back({FindingKind::later_bottles_power,
                        Response::frost,
                        "",
                        std::log1p(rows.change),
                        1 - rows.other_glass,
                        {}});
}

/// Unless the newest bottles are told of already.
void add_broken_promise(const GlassSurface& surface, const std::vector<Observation>& observations,
                        std::vector<Finding>& findings) {
  const bool told = std::any_of(findings.begin(), findings.end(), [](const Finding& finding) {
    return finding.kind == FindingKind::later_bottles_differ;
  });
  if (told) return;
  const std::optional<BrokenPromise> broken = broken_promise(surface, observations);
  if (!broken) return;
  findings.push_back({FindingKind::promise_broken, Response::frost, textfile::joined(broken->bottles),
                      broken->promised, broken->probability, broken->swatches});
}

void add_glass_change(const GlassSurface& surface, const std::vector<Observation>& observations,
                      std::vector<Finding>& findings) {
  const std::optional<GlassChange> change = newest_grid_change(surface, observations);
  if (!change) return;
  const double z = change->ln_power / change->sd;
  if (std::fabs(z) <= kClearChange || std::fabs(change->ln_power) <= kLeastChange) return;
  findings.push_back({FindingKind::glass_changed, Response::frost, change->grid, change->ln_power,
                      two_sided(z), change->swatches});
}

}  // namespace

std::vector<Finding> diagnose(const GlassSurface& surface, const std::vector<Observation>& observations) {
  std::vector<Finding> findings;
  std::map<const Observation*, double> frost_score;
  std::vector<double> frost_both, chipping_both;
  for (const Response r : {Response::frost, Response::chipping}) {
    const std::vector<const Observation*> swatches = graded(surface, r, observations);
    const std::vector<GradeResidual> residuals = grade_residuals(surface, r, observations);
    add_residual_findings(surface.basis(), r, swatches, residuals, findings);
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
  add_glass_change(surface, observations, findings);
  add_later_bottles(surface, observations, findings);
  add_broken_promise(surface, observations, findings);
  add_correlation(FindingKind::responses_associated, Response::frost, "", frost_both, chipping_both,
                  findings);
  std::stable_sort(findings.begin(), findings.end(),
                   [](const Finding& a, const Finding& b) { return a.kind < b.kind; });
  return findings;
}

}  // namespace frostcal::surface
