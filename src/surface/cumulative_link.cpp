#include "surface/cumulative_link.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "errors/bug.hpp"
#include "numerics/normal_tail.hpp"

namespace frostcal::surface {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

void check_shapes(const CumulativeLinkModel& m, const Eigen::VectorXd& theta) {
  const Eigen::Index n = static_cast<Eigen::Index>(m.category.size());
  FROSTCAL_ASSERT(m.design.rows() == n, "cumulative link: design rows");
  FROSTCAL_ASSERT(m.offset.size() == 0 || m.offset.size() == n, "cumulative link: offset size");
  FROSTCAL_ASSERT(m.weight.size() == 0 || m.weight.size() == n, "cumulative link: weight size");
  FROSTCAL_ASSERT(m.lowest.empty() || m.lowest.size() == m.category.size(), "cumulative link: lowest size");
  FROSTCAL_ASSERT(m.cutpoint_map.rows() == m.cutpoint_offset.size(), "cumulative link: cutpoint map");
  FROSTCAL_ASSERT(static_cast<Eigen::Index>(m.groups.inner_of_row.size()) == (m.groups.inner() ? n : 0),
                  "cumulative link: one inner group per row");
  FROSTCAL_ASSERT(m.precision.size() == m.parameters(), "cumulative link: precision size");
  FROSTCAL_ASSERT(theta.size() == m.parameters(), "cumulative link: theta size");
}

struct Bounds {
  double upper;
  double lower;
};

Bounds standardized_bounds(const Eigen::VectorXd& cut, int lowest, int highest, double eta, double noise) {
  const Eigen::Index last = cut.size();
  return {highest == last ? kInfinity : (cut(highest) - eta) / noise,
          lowest == 0 ? -kInfinity : (cut(lowest - 1) - eta) / noise};
}

double log_prior(const CumulativeLinkModel& m, const Eigen::VectorXd& theta) {
  return -0.5 * (m.precision.array() * theta.array().square()).sum();
}

bool ordered(const Eigen::VectorXd& cut) {
  for (Eigen::Index j = 1; j < cut.size(); ++j) {
    if (!(cut(j) > cut(j - 1))) return false;
  }
  return true;
}

/// What the rows say of eta and of the cutpoints, before these are made of theta.
struct Accumulated {
  Eigen::VectorXd eta_gradient;   // n
  Eigen::VectorXd eta_precision;  // n, not negative
  Eigen::VectorXd cut_gradient;   // J-1
  Eigen::MatrixXd cut_precision;  // (J-1) x (J-1)
  Eigen::MatrixXd mixed;          // n x (J-1), eta with the cutpoints
};

Accumulated accumulate(const CumulativeLinkModel& m, const std::vector<RowQuadratic>& rows) {
  const Eigen::Index n = static_cast<Eigen::Index>(rows.size());
  const Eigen::Index cuts = m.cutpoint_offset.size();
  Accumulated s{Eigen::VectorXd(n), Eigen::VectorXd(n), Eigen::VectorXd::Zero(cuts),
                Eigen::MatrixXd::Zero(cuts, cuts), Eigen::MatrixXd::Zero(n, cuts)};
  for (Eigen::Index i = 0; i < n; ++i) {
    const RowQuadratic& row = rows[i];
    const int y = m.category[i];
    const int x = m.lowest_of(i);
    const double w = m.weight_at(i);
    s.eta_gradient(i) = -w * (row.h_upper + row.h_lower);
    s.eta_precision(i) = std::max(0.0, w * (row.upper + row.lower + 2 * row.cross));
    if (y < cuts) {
      s.cut_gradient(y) += w * row.h_upper;
      s.cut_precision(y, y) += w * row.upper;
      s.mixed(i, y) = -w * (row.upper + row.cross);
    }
    if (x > 0) {
      s.cut_gradient(x - 1) += w * row.h_lower;
      s.cut_precision(x - 1, x - 1) += w * row.lower;
      s.mixed(i, x - 1) = -w * (row.lower + row.cross);
    }
    if (x > 0 && y < cuts) {
      s.cut_precision(y, x - 1) += w * row.cross;
      s.cut_precision(x - 1, y) += w * row.cross;
    }
  }
  return s;
}

/// Adds the groups' part: each row touches one inner group and, through it, one outer one.
void add_groups(const CumulativeLinkModel& m, const Accumulated& s, const Eigen::MatrixXd& mixed,
                JoinedRows& joined) {
  const NestedGroups& g = m.groups;
  const Eigen::Index q = m.cutpoint_map.cols();
  const Eigen::Index r = m.design.cols();
  const Eigen::Index n = m.design.rows();
  ArrowPrecision& p = joined.precision;
  Eigen::VectorXd gradient = Eigen::VectorXd::Zero(g.inner());
  Eigen::VectorXd total = Eigen::VectorXd::Zero(g.inner());
  Eigen::MatrixXd core = Eigen::MatrixXd::Zero(g.inner(), q + r);
  for (Eigen::Index i = 0; i < n; ++i) {
    const int k = g.inner_of_row[i];
    gradient(k) += s.eta_gradient(i);
    total(k) += s.eta_precision(i);
    core.row(k).head(q) += mixed.row(i);
  }
  const int* const group = g.inner_of_row.data();
  const double* const weight = s.eta_precision.data();
  for (Eigen::Index j = 0; j < r; ++j) {
    const double* const column = m.design.col(j).data();
    double* const sum = core.col(q + j).data();
    for (Eigen::Index i = 0; i < n; ++i) sum[group[i]] += weight[i] * column[i];
  }
  p.inner = total.cwiseProduct(g.inner_scale.cwiseAbs2()) + m.precision.tail(g.inner());
  p.inner_core = g.inner_scale.asDiagonal() * core;
  p.coupling.resize(g.inner());
  p.outer = m.precision.segment(q + r, g.outer());
  p.outer_core = Eigen::MatrixXd::Zero(g.outer(), q + r);
  joined.gradient.tail(g.inner()) = g.inner_scale.cwiseProduct(gradient);
  joined.gradient.segment(q + r, g.outer()).setZero();
  for (Eigen::Index k = 0; k < g.inner(); ++k) {
    const Eigen::Index b = g.outer_of_inner[k];
    const double scale = g.outer_scale(b);
    p.coupling(k) = scale * g.inner_scale(k) * total(k);
    p.outer(b) += scale * scale * total(k);
    p.outer_core.row(b) += scale * core.row(k);
    joined.gradient(q + r + b) += scale * gradient(k);
  }
}

}  // namespace

Eigen::VectorXd CumulativeLinkModel::linear_predictor(const Eigen::VectorXd& theta) const {
  Eigen::VectorXd eta = design * theta.segment(cutpoint_map.cols(), design.cols());
  if (offset.size()) eta += offset;
  if (groups.inner() == 0) return eta;
  Eigen::VectorXd effect = groups.inner_scale.cwiseProduct(theta.tail(groups.inner()));
  for (Eigen::Index k = 0; k < effect.size(); ++k) {
    const Eigen::Index b = groups.outer_of_inner[k];
    effect(k) += groups.outer_scale(b) * theta(core() + b);
  }
  for (Eigen::Index i = 0; i < eta.size(); ++i) eta(i) += effect(groups.inner_of_row[i]);
  return eta;
}

Eigen::VectorXd CumulativeLinkModel::cutpoints(const Eigen::VectorXd& theta) const {
  return cutpoint_offset + cutpoint_map * theta.head(cutpoint_map.cols());
}

CumulativeLinkModel free_cutpoint_model(Link link, Eigen::MatrixXd design, std::vector<int> category,
                                        int categories) {
  CumulativeLinkModel model;
  model.link = link;
  model.design = std::move(design);
  model.category = std::move(category);
  model.cutpoint_offset = Eigen::VectorXd::Zero(categories - 1);
  model.cutpoint_map = Eigen::MatrixXd::Identity(categories - 1, categories - 1);
  model.precision = Eigen::VectorXd::Zero(model.parameters());
  return model;
}

Eigen::VectorXd empirical_start(const CumulativeLinkModel& model) {
  const Eigen::Index cuts = model.cutpoint_offset.size();
  Eigen::VectorXd count = Eigen::VectorXd::Constant(cuts + 1, 0.5);
  for (std::size_t i = 0; i < model.category.size(); ++i) {
    count(model.category[i]) += model.weight.size() ? model.weight(static_cast<Eigen::Index>(i)) : 1.0;
  }
  Eigen::VectorXd start = Eigen::VectorXd::Zero(model.parameters());
  double below = 0;
  for (Eigen::Index j = 0; j < cuts; ++j) {
    below += count(j);
    const double share = below / count.sum();
    start(j) = model.noise * (model.link == Link::probit ? numerics::normal_quantile(share)
                                                         : std::log(share / (1 - share)));
  }
  return start;
}

LogPosterior log_posterior_value(const CumulativeLinkModel& model, const Eigen::VectorXd& theta) {
  check_shapes(model, theta);
  LogPosterior result;
  const Eigen::VectorXd cut = model.cutpoints(theta);
  if (!ordered(cut)) {
    result.value = result.log_likelihood = -kInfinity;
    return result;
  }
  const Eigen::VectorXd eta = model.linear_predictor(theta);
  for (Eigen::Index i = 0; i < eta.size(); ++i) {
    const Bounds z = standardized_bounds(cut, model.lowest_of(i), model.category[i], eta(i), model.noise);
    result.log_likelihood += model.weight_at(i) * interval_term(model.link, z.upper, z.lower).log_probability;
  }
  result.value = result.log_likelihood + log_prior(model, theta);
  return result;
}

JoinedRows join_rows(const CumulativeLinkModel& m, const std::vector<RowQuadratic>& rows) {
  const Eigen::Index q = m.cutpoint_map.cols();
  const Eigen::Index r = m.design.cols();
  const Accumulated s = accumulate(m, rows);
  const Eigen::MatrixXd mixed = s.mixed * m.cutpoint_map;  // n x q
  JoinedRows joined;
  joined.gradient.resize(m.parameters());
  joined.gradient.head(q).noalias() = m.cutpoint_map.transpose() * s.cut_gradient;
  joined.gradient.segment(q, r).noalias() = m.design.transpose() * s.eta_gradient;
  joined.precision.outer_core.resize(0, q + r);
  joined.precision.inner_core.resize(0, q + r);
  Eigen::MatrixXd& h = joined.precision.core;
  h = Eigen::MatrixXd::Zero(q + r, q + r);
  h.topLeftCorner(q, q).noalias() = m.cutpoint_map.transpose() * s.cut_precision * m.cutpoint_map;
  h.bottomLeftCorner(r, q).noalias() = m.design.transpose() * mixed;
  const Eigen::VectorXd root = s.eta_precision.cwiseSqrt();
  const Eigen::MatrixXd scaled = root.asDiagonal() * m.design;
  h.bottomRightCorner(r, r).selfadjointView<Eigen::Lower>().rankUpdate(scaled.transpose());
  h.diagonal() += m.precision.head(q + r);
  if (m.groups.inner() > 0) add_groups(m, s, mixed, joined);
  return joined;
}

RowSpread row_spread(const CumulativeLinkModel& m, const ArrowFactor& factor) {
  const Eigen::Index n = m.design.rows();
  const Eigen::Index q = m.cutpoint_map.cols();
  const Eigen::Index r = m.design.cols();
  const Eigen::Index cuts = m.cutpoint_offset.size();
  // The rows' functionals times L^-T. Those of the design are 0 in the first q places, and stay so.
  const Eigen::MatrixXd of_design = factor.core().bottomRightCorner(r, r);
  Eigen::MatrixXd root = m.design;
  of_design.transpose().triangularView<Eigen::Upper>().solveInPlace<Eigen::OnTheRight>(root);
  Eigen::MatrixXd root_cuts(q + r, cuts);
  root_cuts << m.cutpoint_map.transpose(), Eigen::MatrixXd::Zero(r, cuts);
  factor.core().triangularView<Eigen::Lower>().solveInPlace(root_cuts);
  RowSpread out;
  out.of_cuts = root_cuts.transpose() * root_cuts;
  if (m.groups.inner() == 0) {
    out.with_cuts = root * root_cuts.bottomRows(r);
    out.of_eta = root.rowwise().squaredNorm();
    return out;
  }
  const ArrowFactor::Reduced reduced = factor.reduced(m.groups);
  Eigen::MatrixXd shift = reduced.core_shift;
  factor.core().transpose().triangularView<Eigen::Upper>().solveInPlace<Eigen::OnTheRight>(shift);
  const Eigen::VectorXd of_group = reduced.variance + shift.leftCols(q).rowwise().squaredNorm();
  const Eigen::MatrixXd group_with_cuts = shift.leftCols(q) * root_cuts.topRows(q);
  const int* const group = m.groups.inner_of_row.data();
  for (Eigen::Index j = 0; j < r; ++j) {
    double* const column = root.col(j).data();
    const double* const by = shift.col(q + j).data();
    for (Eigen::Index i = 0; i < n; ++i) column[i] -= by[group[i]];
  }
  out.with_cuts = root * root_cuts.bottomRows(r);
  out.of_eta = root.rowwise().squaredNorm();
  for (Eigen::Index i = 0; i < n; ++i) {
    out.of_eta(i) += of_group(group[i]);
    out.with_cuts.row(i) -= group_with_cuts.row(group[i]);
  }
  return out;
}

double row_derivatives(const CumulativeLinkModel& model, const Eigen::VectorXd& theta,
                       std::vector<RowQuadratic>& rows) {
  const Eigen::VectorXd eta = model.linear_predictor(theta);
  const Eigen::VectorXd cut = model.cutpoints(theta);
  const double square = model.noise * model.noise;
  double log_likelihood = 0;
  rows.resize(model.category.size());
  for (Eigen::Index i = 0; i < eta.size(); ++i) {
    const Bounds z = standardized_bounds(cut, model.lowest_of(i), model.category[i], eta(i), model.noise);
    const IntervalTerm t = interval_term(model.link, z.upper, z.lower);
    rows[i] = {t.da / model.noise, t.db / model.noise, -t.daa / square, -t.dbb / square, -t.dab / square};
    log_likelihood += model.weight_at(i) * t.log_probability;
  }
  return log_likelihood;
}

LogPosterior log_posterior(const CumulativeLinkModel& model, const Eigen::VectorXd& theta) {
  check_shapes(model, theta);
  FROSTCAL_ASSERT(ordered(model.cutpoints(theta)), "cumulative link: cutpoints out of order");
  LogPosterior result;
  std::vector<RowQuadratic> rows;
  result.log_likelihood = row_derivatives(model, theta, rows);
  result.value = result.log_likelihood + log_prior(model, theta);
  JoinedRows joined = join_rows(model, rows);
  result.gradient = std::move(joined.gradient);
  result.gradient.array() -= model.precision.array() * theta.array();
  result.negative_hessian = std::move(joined.precision);
  return result;
}

PosteriorMode find_mode(const CumulativeLinkModel& model, const Eigen::VectorXd& start,
                        const NewtonOptions& options) {
  PosteriorMode mode;
  mode.theta = start;
  mode.at_mode = log_posterior(model, start);
  for (;; ++mode.iterations) {
    mode.factor = ArrowFactor();
    if (mode.at_mode.negative_hessian.finite()) {
      mode.factor = ArrowFactor(mode.at_mode.negative_hessian, model.groups.outer_of_inner);
    }
    if (!mode.factor.positive()) {
      mode.status = NewtonStatus::singular;
      return mode;
    }
    const Eigen::VectorXd step = mode.factor.solve(mode.at_mode.gradient);
    mode.decrement = 0.5 * mode.at_mode.gradient.dot(step);
    if (mode.decrement < options.decrement_tolerance) {
      mode.status = NewtonStatus::converged;
      return mode;
    }
    if (mode.iterations >= options.max_iterations) {
      mode.status = NewtonStatus::iteration_limit;
      return mode;
    }
    double factor = 1;
    bool moved = false;
    for (int halving = 0; halving < 40 && !moved; ++halving, factor *= 0.5) {
      const Eigen::VectorXd trial = mode.theta + factor * step;
      if (!ordered(model.cutpoints(trial))) continue;
      // The full step is nearly always taken, so its derivatives are computed at once.
      LogPosterior at_trial = halving == 0 ? log_posterior(model, trial) : log_posterior_value(model, trial);
      // Rounding of a large sum can hide a tiny gain, hence the slack.
      const double slack = 1e-13 * std::abs(mode.at_mode.value);
      if (!(at_trial.value >= mode.at_mode.value + 2e-4 * factor * mode.decrement - slack)) continue;
      mode.theta = trial;
      mode.at_mode = halving == 0 ? std::move(at_trial) : log_posterior(model, trial);
      moved = true;
    }
    if (!moved) {
      // A gain below the rounding of the sum is no gain to be had.
      const bool at_rounding = mode.decrement < 1e-12 * (1 + std::abs(mode.at_mode.value));
      mode.status = at_rounding ? NewtonStatus::converged : NewtonStatus::no_ascent;
      return mode;
    }
  }
}

}  // namespace frostcal::surface
