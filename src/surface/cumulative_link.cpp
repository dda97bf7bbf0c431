#include "surface/cumulative_link.hpp"

#include <Eigen/Cholesky>
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
  FROSTCAL_ASSERT(m.cutpoint_map.rows() == m.cutpoint_offset.size(), "cumulative link: cutpoint map");
  FROSTCAL_ASSERT(m.precision.size() == m.parameters(), "cumulative link: precision size");
  FROSTCAL_ASSERT(theta.size() == m.parameters(), "cumulative link: theta size");
}

struct Bounds {
  double upper;
  double lower;
};

Bounds standardized_bounds(const Eigen::VectorXd& cut, int category, double eta, double noise) {
  const Eigen::Index last = cut.size();
  return {category == last ? kInfinity : (cut(category) - eta) / noise,
          category == 0 ? -kInfinity : (cut(category - 1) - eta) / noise};
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

/// Sums of derivatives over the observations: in eta (one each), in the cutpoints, and mixed.
struct Accumulated {
  double log_likelihood = 0;
  Eigen::VectorXd eta_gradient;   // n
  Eigen::VectorXd eta_curvature;  // n, of -l, not negative
  Eigen::VectorXd cut_gradient;   // J-1
  Eigen::MatrixXd cut_curvature;  // (J-1) x (J-1), of -l
  Eigen::MatrixXd mixed;          // (J-1) x r, of -l, already multiplied by the design
};

Accumulated accumulate(const CumulativeLinkModel& m, const Eigen::VectorXd& eta, const Eigen::VectorXd& cut) {
  const Eigen::Index n = eta.size();
  const Eigen::Index cuts = cut.size();
  Accumulated s;
  s.eta_gradient.resize(n);
  s.eta_curvature.resize(n);
  s.cut_gradient = Eigen::VectorXd::Zero(cuts);
  s.cut_curvature = Eigen::MatrixXd::Zero(cuts, cuts);
  Eigen::MatrixXd mixed_eta = Eigen::MatrixXd::Zero(n, cuts);
  const double inverse = 1 / m.noise;
  for (Eigen::Index i = 0; i < n; ++i) {
    const int y = m.category[i];
    const Bounds z = standardized_bounds(cut, y, eta(i), m.noise);
    const IntervalTerm t = interval_term(m.link, z.upper, z.lower);
    const double w = m.weight.size() ? m.weight(i) : 1.0;
    const double w1 = w * inverse;
    const double w2 = w1 * inverse;
    s.log_likelihood += w * t.log_probability;
    s.eta_gradient(i) = -w1 * (t.da + t.db);
    s.eta_curvature(i) = std::max(0.0, -w2 * (t.daa + 2 * t.dab + t.dbb));
    if (y < cuts) {
      s.cut_gradient(y) += w1 * t.da;
      s.cut_curvature(y, y) -= w2 * t.daa;
      mixed_eta(i, y) = w2 * (t.daa + t.dab);
    }
    if (y > 0) {
      s.cut_gradient(y - 1) += w1 * t.db;
      s.cut_curvature(y - 1, y - 1) -= w2 * t.dbb;
      mixed_eta(i, y - 1) = w2 * (t.dbb + t.dab);
    }
    if (y > 0 && y < cuts) {
      s.cut_curvature(y, y - 1) -= w2 * t.dab;
      s.cut_curvature(y - 1, y) -= w2 * t.dab;
    }
  }
  s.mixed.noalias() = mixed_eta.transpose() * m.design;
  return s;
}

}  // namespace

Eigen::VectorXd CumulativeLinkModel::linear_predictor(const Eigen::VectorXd& theta) const {
  Eigen::VectorXd eta = design * theta.tail(design.cols());
  if (offset.size()) eta += offset;
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
    const Bounds z = standardized_bounds(cut, model.category[i], eta(i), model.noise);
    result.log_likelihood += (model.weight.size() ? model.weight(i) : 1.0) *
                             interval_term(model.link, z.upper, z.lower).log_probability;
  }
  result.value = result.log_likelihood + log_prior(model, theta);
  return result;
}

LogPosterior log_posterior(const CumulativeLinkModel& model, const Eigen::VectorXd& theta) {
  check_shapes(model, theta);
  const Eigen::Index q = model.cutpoint_map.cols();
  const Eigen::Index r = model.design.cols();
  const Eigen::VectorXd cut = model.cutpoints(theta);
  FROSTCAL_ASSERT(ordered(cut), "cumulative link: cutpoints out of order");
  const Accumulated s = accumulate(model, model.linear_predictor(theta), cut);

  LogPosterior result;
  result.log_likelihood = s.log_likelihood;
  result.value = s.log_likelihood + log_prior(model, theta);
  result.gradient.resize(q + r);
  result.gradient.head(q).noalias() = model.cutpoint_map.transpose() * s.cut_gradient;
  result.gradient.tail(r).noalias() = model.design.transpose() * s.eta_gradient;
  result.gradient.array() -= model.precision.array() * theta.array();

  Eigen::MatrixXd& h = result.negative_hessian;
  h = Eigen::MatrixXd::Zero(q + r, q + r);
  h.topLeftCorner(q, q).noalias() = model.cutpoint_map.transpose() * s.cut_curvature * model.cutpoint_map;
  h.bottomLeftCorner(r, q).noalias() = s.mixed.transpose() * model.cutpoint_map;
  const Eigen::MatrixXd scaled = s.eta_curvature.cwiseSqrt().asDiagonal() * model.design;
  h.bottomRightCorner(r, r).selfadjointView<Eigen::Lower>().rankUpdate(scaled.transpose());
  h.triangularView<Eigen::StrictlyUpper>() = h.transpose().triangularView<Eigen::StrictlyUpper>();
  h.diagonal() += model.precision;
  return result;
}

Eigen::MatrixXd PosteriorMode::covariance() const {
  FROSTCAL_ASSERT(cholesky.size() > 0 || theta.size() == 0, "covariance of a singular posterior");
  const Eigen::Index n = theta.size();
  Eigen::MatrixXd inverse = Eigen::MatrixXd::Identity(n, n);
  cholesky.triangularView<Eigen::Lower>().solveInPlace(inverse);
  return inverse.transpose() * inverse;
}

PosteriorMode find_mode(const CumulativeLinkModel& model, const Eigen::VectorXd& start,
                        const NewtonOptions& options) {
  PosteriorMode mode;
  mode.theta = start;
  mode.at_mode = log_posterior(model, start);
  for (;; ++mode.iterations) {
    const Eigen::LLT<Eigen::MatrixXd> llt(mode.at_mode.negative_hessian);
    const bool positive = llt.info() == Eigen::Success && llt.matrixLLT().diagonal().minCoeff() > 0 &&
                          mode.at_mode.negative_hessian.allFinite();
    if (!positive) {
      mode.status = NewtonStatus::singular;
      mode.cholesky.resize(0, 0);
      return mode;
    }
    mode.cholesky = llt.matrixL();
    mode.log_det_cholesky = mode.cholesky.diagonal().array().log().sum();
    const Eigen::VectorXd step = llt.solve(mode.at_mode.gradient);
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
