#include "surface/expectation_propagation.hpp"

#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <limits>

#include "errors/bug.hpp"

namespace frostcal::surface {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr Eigen::Index kMemory = 3;     // earlier sweeps that a step is drawn from
constexpr double kGrowth = 1.5;         // of the changes, at which they are forgotten
constexpr double kCautiousShare = 0.5;  // of a step after that

/// Mean and covariance of s = (upper cutpoint - eta, lower cutpoint - eta) of one row.
struct RowMoments {
  double upper = 0;
  double lower = 0;
  double var_upper = 0;
  double var_lower = 0;
  double cov = 0;
};

/// What a row's s is at theta = 0.
struct RowStart {
  double upper = 0;
  double lower = 0;
};

RowStart start_of(const CumulativeLinkModel& m, Eigen::Index row) {
  const int y = m.category[row];
  const int x = m.lowest_of(row);
  const double offset = m.offset.size() ? m.offset(row) : 0.0;
  return {y < m.cutpoint_offset.size() ? m.cutpoint_offset(y) - offset : 0.0,
          x > 0 ? m.cutpoint_offset(x - 1) - offset : 0.0};
}

/// Posterior of theta under the sites.
struct Joined {
  ArrowFactor factor;  // of the precision; the rest is set when it is positive
  Eigen::VectorXd mean;
  double quadratic = 0;  // mean' precision mean
};

Joined join(const CumulativeLinkModel& m, const std::vector<GradeSite>& sites) {
  std::vector<GradeSite> at_zero = sites;
  for (std::size_t i = 0; i < sites.size(); ++i) {
    GradeSite& s = at_zero[i];
    const RowStart start = start_of(m, static_cast<Eigen::Index>(i));
    s.h_upper -= s.upper * start.upper + s.cross * start.lower;
    s.h_lower -= s.lower * start.lower + s.cross * start.upper;
  }
  const JoinedRows rows = join_rows(m, at_zero);
  Joined joined;
  if (!rows.gradient.allFinite()) return joined;
  joined.factor = ArrowFactor(rows.precision, m.groups.outer_of_inner);
  if (!joined.factor.positive()) return joined;
  joined.mean = joined.factor.solve(rows.gradient);
  joined.quadratic = joined.mean.dot(rows.gradient);
  return joined;
}

std::vector<RowMoments> moments_of_rows(const CumulativeLinkModel& m, const Joined& joined) {
  const Eigen::Index n = m.design.rows();
  const Eigen::Index cuts = m.cutpoint_offset.size();
  const RowSpread spread = row_spread(m, joined.factor);
  const Eigen::VectorXd eta = m.linear_predictor(joined.mean);
  const Eigen::VectorXd cut = m.cutpoints(joined.mean);
  std::vector<RowMoments> moments(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    RowMoments& out = moments[i];
    const int y = m.category[i];
    const int x = m.lowest_of(i);
    if (y < cuts) {
      out.upper = cut(y) - eta(i);
      out.var_upper = spread.of_eta(i) + spread.of_cuts(y, y) - 2 * spread.with_cuts(i, y);
    }
    if (x > 0) {
      out.lower = cut(x - 1) - eta(i);
      out.var_lower = spread.of_eta(i) + spread.of_cuts(x - 1, x - 1) - 2 * spread.with_cuts(i, x - 1);
    }
    if (x > 0 && y < cuts) {
      out.cov =
          spread.of_eta(i) + spread.of_cuts(y, x - 1) - spread.with_cuts(i, y) - spread.with_cuts(i, x - 1);
    }
  }
  return moments;
}

/// The row's moments without one of its sites: (I - V S)^-1 (m - V h), (I - V S)^-1 V. False when that isn't
/// a distribution.
bool without_site(const RowMoments& full, const GradeSite& s, RowMoments& cavity) {
  const double a = 1 - full.var_upper * s.upper - full.cov * s.cross;
  const double b = -full.var_upper * s.cross - full.cov * s.lower;
  const double c = -full.cov * s.upper - full.var_lower * s.cross;
  const double d = 1 - full.cov * s.cross - full.var_lower * s.lower;
  const double det = a * d - b * c;
  if (!(det > 1e-10)) return false;
  const double mu = full.upper - full.var_upper * s.h_upper - full.cov * s.h_lower;
  const double ml = full.lower - full.cov * s.h_upper - full.var_lower * s.h_lower;
  cavity.upper = (d * mu - b * ml) / det;
  cavity.lower = (a * ml - c * mu) / det;
  cavity.var_upper = (d * full.var_upper - b * full.cov) / det;
  cavity.cov = (d * full.cov - b * full.var_lower) / det;
  cavity.var_lower = (a * full.var_lower - c * full.cov) / det;
  return cavity.var_upper >= 0 && cavity.var_lower >= 0;
}

/// The site that gives the cavity the moments of cavity times likelihood, and log Z.
double matching_site(const RowMoments& cavity, bool has_upper, bool has_lower, double noise, GradeSite& s) {
  const double scale_u = std::sqrt(noise * noise + cavity.var_upper);
  const double scale_l = std::sqrt(noise * noise + cavity.var_lower);
  const IntervalTerm t = interval_term(Link::probit, has_upper ? cavity.upper / scale_u : kInfinity,
                                       has_lower ? cavity.lower / scale_l : -kInfinity);
  const double gu = t.da / scale_u;
  const double gl = t.db / scale_l;
  const double huu = t.daa / (scale_u * scale_u);
  const double hll = t.dbb / (scale_l * scale_l);
  const double hul = t.dab / (scale_u * scale_l);
  // precision = -(I + H V)^-1 H, h = precision m + (I + H V)^-1 g
  const double a = 1 + huu * cavity.var_upper + hul * cavity.cov;
  const double b = huu * cavity.cov + hul * cavity.var_lower;
  const double c = hul * cavity.var_upper + hll * cavity.cov;
  const double d = 1 + hul * cavity.cov + hll * cavity.var_lower;
  const double det = a * d - b * c;
  s.upper = -(d * huu - b * hul) / det;
  s.cross = -(d * hul - b * hll) / det;
  s.lower = -(a * hll - c * hul) / det;
  s.h_upper = s.upper * cavity.upper + s.cross * cavity.lower + (d * gu - b * gl) / det;
  s.h_lower = s.cross * cavity.upper + s.lower * cavity.lower + (a * gl - c * gu) / det;
  return t.log_probability;
}

/// log of the integral of N(cavity) exp(h' s - s' precision s / 2).
double log_site_integral(const RowMoments& v, const GradeSite& s) {
  // With t = h - precision m: exp(h'm - m' precision m / 2) E exp(t'x - x' precision x / 2), x ~ N(0, V).
  const double tu = s.h_upper - s.upper * v.upper - s.cross * v.lower;
  const double tl = s.h_lower - s.lower * v.lower - s.cross * v.upper;
  const double constant =
      s.h_upper * v.upper + s.h_lower * v.lower -
      0.5 * (s.upper * v.upper * v.upper + 2 * s.cross * v.upper * v.lower + s.lower * v.lower * v.lower);
  const double a = 1 + v.var_upper * s.upper + v.cov * s.cross;
  const double b = v.var_upper * s.cross + v.cov * s.lower;
  const double c = v.cov * s.upper + v.var_lower * s.cross;
  const double d = 1 + v.cov * s.cross + v.var_lower * s.lower;
  const double det = a * d - b * c;
  const double vu = v.var_upper * tu + v.cov * tl;
  const double vl = v.cov * tu + v.var_lower * tl;
  return constant - 0.5 * std::log(det) + 0.5 * (tu * (d * vu - b * vl) + tl * (a * vl - c * vu)) / det;
}

GradeSite between(const GradeSite& from, const GradeSite& to, double share) {
  const auto mix = [share](double a, double b) { return a + share * (b - a); };
  return {mix(from.h_upper, to.h_upper), mix(from.h_lower, to.h_lower), mix(from.upper, to.upper),
          mix(from.lower, to.lower), mix(from.cross, to.cross)};
}

/// Steps to the sites that reproduce themselves: Anderson's mixing (D. G. Anderson, J. ACM 12 (1965) 547-560;
/// H. F. Walker and P. Ni, SIAM J. Numer. Anal. 49 (2011) 1715-1735). Sites of many alike rows push one
/// another back and forth, which plain steps damp slowly.
class SiteMixing {
 public:
  explicit SiteMixing(std::size_t rows)
      : size_(static_cast<Eigen::Index>(rows) * kNumbers),
        past_steps_(size_, kMemory),
        past_errors_(size_, kMemory) {}

  void forget() {
    known_ = 0;
    first_ = true;
  }

  /// The next sites, from where `sites` were matched anew as `fresh`.
  std::vector<GradeSite> next(const std::vector<GradeSite>& sites, const std::vector<GradeSite>& fresh,
                              double share) {
    const Eigen::VectorXd at = numbers(sites);
    const Eigen::VectorXd error = numbers(fresh) - at;
    if (!first_) {
      const Eigen::Index column = known_ % kMemory;
      past_steps_.col(column) = at - at_;
      past_errors_.col(column) = error - error_;
      ++known_;
    }
    first_ = false;
    at_ = at;
    error_ = error;
    Eigen::VectorXd to = at + share * error;
    const Eigen::Index used = std::min(known_, kMemory);
    if (used > 0) {
      const auto errors = past_errors_.leftCols(used);
      const Eigen::VectorXd part = errors.colPivHouseholderQr().solve(error);
      to -= past_steps_.leftCols(used) * part + share * (errors * part);
    }
    return from_numbers(to);
  }

 private:
  static constexpr Eigen::Index kNumbers = 5;  // of a site

  static Eigen::VectorXd numbers(const std::vector<GradeSite>& sites) {
    Eigen::VectorXd out(static_cast<Eigen::Index>(sites.size()) * kNumbers);
    for (std::size_t i = 0; i < sites.size(); ++i) {
      const GradeSite& s = sites[i];
      out.segment<kNumbers>(static_cast<Eigen::Index>(i) * kNumbers) << s.h_upper, s.h_lower, s.upper,
          s.lower, s.cross;
    }
    return out;
  }

  static std::vector<GradeSite> from_numbers(const Eigen::VectorXd& x) {
    std::vector<GradeSite> sites(static_cast<std::size_t>(x.size() / kNumbers));
    for (std::size_t i = 0; i < sites.size(); ++i) {
      const Eigen::Index k = static_cast<Eigen::Index>(i) * kNumbers;
      sites[i] = {x(k), x(k + 1), x(k + 2), x(k + 3), x(k + 4)};
    }
    return sites;
  }

  Eigen::Index size_;
  Eigen::MatrixXd past_steps_, past_errors_;  // the latest kMemory, in a ring
  Eigen::VectorXd at_, error_;
  Eigen::Index known_ = 0;
  bool first_ = true;
};

/// Largest change of a row's mean or standard deviation, in standard deviations of one grading there.
double largest_change(const std::vector<RowMoments>& now, const std::vector<RowMoments>& before,
                      double noise) {
  double change = 0;
  for (std::size_t i = 0; i < now.size(); ++i) {
    const double upper = std::sqrt(now[i].var_upper);
    const double lower = std::sqrt(now[i].var_lower);
    const double sd = std::hypot(noise, std::max(upper, lower));
    change = std::max({change, std::abs(now[i].upper - before[i].upper) / sd,
                       std::abs(now[i].lower - before[i].lower) / sd,
                       std::abs(upper - std::sqrt(before[i].var_upper)) / sd,
                       std::abs(lower - std::sqrt(before[i].var_lower)) / sd});
  }
  return change;
}

struct Matched {
  std::vector<GradeSite> sites;  // moment-matched anew
  double log_scale = 0;          // sum of the old sites' log scales, and of what their offsets add
  bool sound = true;             // false when a row's cavity has its cutpoints crossed, or is no distribution
};

Matched match_sites(const CumulativeLinkModel& m, const std::vector<RowMoments>& rows,
                    const std::vector<GradeSite>& sites) {
  const Eigen::Index cuts = m.cutpoint_offset.size();
  Matched matched;
  matched.sites = sites;
  for (std::size_t i = 0; i < sites.size(); ++i) {
    const GradeSite& s = sites[i];
    const Eigen::Index row = static_cast<Eigen::Index>(i);
    const int y = m.category[i];
    const int x = m.lowest_of(row);
    const auto [u, l] = start_of(m, row);
    double scale =
        s.h_upper * u + s.h_lower * l - 0.5 * (s.upper * u * u + 2 * s.cross * u * l + s.lower * l * l);
    RowMoments cavity;
    GradeSite fresh;
    const double log_z =
        without_site(rows[i], s, cavity) ? matching_site(cavity, y<cuts, x> 0, m.noise, fresh) : -kInfinity;
    if (std::isfinite(log_z)) {
      scale += log_z - log_site_integral(cavity, s);
      matched.sites[i] = fresh;
    } else {
      matched.sound = false;
    }
    matched.log_scale += m.weight_at(row) * scale;
  }
  return matched;
}

}  // namespace

std::vector<GradeSite> sites_at(const CumulativeLinkModel& model, const Eigen::VectorXd& theta) {
  std::vector<GradeSite> sites;
  row_derivatives(model, theta, sites);
  const Eigen::VectorXd eta = model.linear_predictor(theta);
  const Eigen::VectorXd cut = model.cutpoints(theta);
  for (Eigen::Index i = 0; i < eta.size(); ++i) {
    const int y = model.category[i];
    const double upper = y < cut.size() ? cut(y) - eta(i) : 0.0;
    const int x = model.lowest_of(i);
    const double lower = x > 0 ? cut(x - 1) - eta(i) : 0.0;
    GradeSite& s = sites[i];
    s.h_upper += s.upper * upper + s.cross * lower;
    s.h_lower += s.lower * lower + s.cross * upper;
  }
  return sites;
}

MomentPosterior propagate(const CumulativeLinkModel& model, std::vector<GradeSite> sites,
                          const SweepOptions& options) {
  FROSTCAL_ASSERT(model.link == Link::probit, "expectation propagation needs the probit link");
  FROSTCAL_ASSERT(sites.size() == model.category.size(), "expectation propagation: one site per row");
  FROSTCAL_ASSERT(model.precision.size() == model.parameters() && model.precision.minCoeff() > 0,
                  "expectation propagation needs a proper prior");
  MomentPosterior result;
  std::vector<GradeSite> last = sites;
  std::vector<RowMoments> before;
  SiteMixing mixing(sites.size());
  double share = 1;
  double last_change = kInfinity;
  for (; result.sweeps < options.max_sweeps; ++result.sweeps) {
    Joined joined = join(model, sites);
    for (int halving = 0; !joined.factor.positive() && halving < 10; ++halving) {
      for (std::size_t i = 0; i < sites.size(); ++i) sites[i] = between(last[i], sites[i], 0.5);
      joined = join(model, sites);
      mixing.forget();
      share = kCautiousShare;
    }
    if (!joined.factor.positive()) return result;
    std::vector<RowMoments> rows = moments_of_rows(model, joined);
    const double change = before.empty() ? kInfinity : largest_change(rows, before, model.noise);
    const Matched matched = match_sites(model, rows, sites);
    const double log_evidence =
        matched.log_scale + 0.5 * joined.quadratic - joined.factor.log_root_determinant();
    if (change < options.tolerance && matched.sound && std::isfinite(log_evidence)) {
      result.status = SweepStatus::converged;
      result.log_evidence = log_evidence;
      result.sites = std::move(sites);
      result.mean = std::move(joined.mean);
      result.factor = std::move(joined.factor);
      return result;
    }
    if (result.sweeps >= 2 && matched.sound && log_evidence < options.evidence_floor) {
      result.status = SweepStatus::hopeless;
      return result;
    }
    if (change > kGrowth * last_change || !matched.sound) {
      mixing.forget();
      share = kCautiousShare;
    }
    last_change = change;
    before = std::move(rows);
    last = std::move(sites);
    sites = mixing.next(last, matched.sites, share);
  }
  return result;
}

}  // namespace frostcal::surface
