#include "numerics/variance_components.hpp"

#include <Eigen/Cholesky>
#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <limits>

#include "errors/bug.hpp"

namespace frostcal::numerics {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

constexpr double kTwoPi = 6.283185307179586476925;
constexpr int kMaxIterations = 200;

// All that the criterion needs of the rows: x = q r with orthonormal q, y less its least-squares fit.
struct CrossProducts {
  std::vector<Index> start;  // first column of each random effect, and one past the last
  MatrixXd zz;
  MatrixXd zq;
  VectorXd zy;
  double yy = 0;
  double log_det_r = 0;
  double df = 0;  // n - p

  Index effects() const { return static_cast<Index>(start.size()) - 1; }
};

CrossProducts cross_products(const MatrixXd& q, const VectorXd& y,
                             const std::vector<std::vector<int>>& groups) {
  CrossProducts products;
  products.start.push_back(0);
  for (const std::vector<int>& group : groups) {
    FROSTCAL_ASSERT(group.size() == static_cast<std::size_t>(y.size()), "one group per row");
    FROSTCAL_ASSERT(*std::min_element(group.begin(), group.end()) >= 0, "groups count from 0");
    products.start.push_back(products.start.back() + 1 + *std::max_element(group.begin(), group.end()));
  }
  const Index columns = products.start.back();
  products.zz = MatrixXd::Zero(columns, columns);
  products.zq = MatrixXd::Zero(columns, q.cols());
  products.zy = VectorXd::Zero(columns);
  for (Index i = 0; i < y.size(); ++i) {
    for (std::size_t k = 0; k < groups.size(); ++k) {
      const Index row = products.start[k] + groups[k][static_cast<std::size_t>(i)];
      products.zq.row(row) += q.row(i);
      products.zy[row] += y[i];
      for (std::size_t l = 0; l < groups.size(); ++l) {
        products.zz(row, products.start[l] + groups[l][static_cast<std::size_t>(i)]) += 1;
      }
    }
  }
  products.yy = y.squaredNorm();
  products.df = static_cast<double>(y.size() - q.cols());
  return products;
}

// Everything at one set of ratios; V = I + sum ratio_k Z_k Z_k', P = V^-1 - V^-1 Q (Q'V^-1 Q)^-1 Q'V^-1.
struct Point {
  double criterion = std::numeric_limits<double>::infinity();
  double residual_variance = 0;
  VectorXd shift;  // generalized least-squares coefficients of the residual y, in q
  MatrixXd qvq_inverse;
  VectorXd zpy;
  MatrixXd zpz;
};

Point evaluate(const CrossProducts& products, const VectorXd& ratios) {
  Point point;
  VectorXd root(products.zy.size());
  for (Index k = 0; k < products.effects(); ++k) {
    const auto at = static_cast<std::size_t>(k);
    root.segment(products.start[at], products.start[at + 1] - products.start[at])
        .setConstant(std::sqrt(ratios[k]));
  }
  const Index columns = root.size();
  const MatrixXd scaled_zz = root.asDiagonal() * products.zz;
  MatrixXd inner = scaled_zz * root.asDiagonal();
  inner += MatrixXd::Identity(columns, columns);
  const Eigen::LLT<MatrixXd> llt(inner);
  if (llt.info() != Eigen::Success) return point;
  // L^-1 S Z' applied to Z, q and y.
  const MatrixXd half_z = llt.matrixL().solve(scaled_zz);
  const MatrixXd half_q = llt.matrixL().solve(root.asDiagonal() * products.zq);
  const VectorXd half_y = llt.matrixL().solve(root.cwiseProduct(products.zy));
  const Index p = products.zq.cols();
  const MatrixXd qvq = MatrixXd::Identity(p, p) - half_q.transpose() * half_q;
  const VectorXd qvy = -half_q.transpose() * half_y;  // q'y is 0
  const MatrixXd zvq = products.zq - half_z.transpose() * half_q;
  const VectorXd zvy = products.zy - half_z.transpose() * half_y;
  const Eigen::LLT<MatrixXd> of_q(qvq);
  if (of_q.info() != Eigen::Success) return point;
  point.shift = of_q.solve(qvy);
  point.qvq_inverse = of_q.solve(MatrixXd::Identity(p, p));
  point.zpy = zvy - zvq * point.shift;
  point.zpz = products.zz - half_z.transpose() * half_z - zvq * point.qvq_inverse * zvq.transpose();
  const double ypy = products.yy - half_y.squaredNorm() - qvy.dot(point.shift);
  point.residual_variance = std::max(0.0, ypy / products.df);
  if (!(point.residual_variance > 0)) return point;
  const MatrixXd inner_factor = llt.matrixL();
  const MatrixXd q_factor = of_q.matrixL();
  point.criterion = 2 * inner_factor.diagonal().array().log().sum() +
                    2 * q_factor.diagonal().array().log().sum() + products.log_det_r +
                    products.df * (1 + std::log(kTwoPi * point.residual_variance));
  return point;
}

struct Derivatives {
  VectorXd gradient;
  MatrixXd hessian;
  MatrixXd expected;  // expectation of the Hessian but for the profiled residual variance; never indefinite
};

Derivatives derivatives(const CrossProducts& products, const Point& point) {
  const Index effects = products.effects();
  Derivatives d{VectorXd::Zero(effects), MatrixXd::Zero(effects, effects), MatrixXd::Zero(effects, effects)};
  VectorXd squares(effects);
  const auto part = [&](Index k) {
    const auto at = static_cast<std::size_t>(k);
    return std::pair<Index, Index>(products.start[at], products.start[at + 1] - products.start[at]);
  };
  for (Index k = 0; k < effects; ++k) {
    const auto [row, rows] = part(k);
    squares[k] = point.zpy.segment(row, rows).squaredNorm();
    d.gradient[k] = point.zpz.block(row, row, rows, rows).trace() - squares[k] / point.residual_variance;
  }
  for (Index k = 0; k < effects; ++k) {
    const auto [row, rows] = part(k);
    for (Index l = 0; l < effects; ++l) {
      const auto [column, columns] = part(l);
      const MatrixXd block = point.zpz.block(row, column, rows, columns);
      const double norm = block.squaredNorm();
      const double cross = point.zpy.segment(row, rows).dot(block * point.zpy.segment(column, columns));
      const double variance = point.residual_variance;
      d.hessian(k, l) =
          2 * cross / variance - norm - squares[k] * squares[l] / (products.df * variance * variance);
      d.expected(k, l) = norm;
    }
  }
  return d;
}

// Newton's step on the ratios that are free to move; zero for those held at 0.
VectorXd step_of(const Derivatives& d, const VectorXd& ratios) {
  std::vector<Index> free;
  for (Index k = 0; k < ratios.size(); ++k) {
    if (ratios[k] > 0 || d.gradient[k] < 0) free.push_back(k);
  }
  const Index m = static_cast<Index>(free.size());
  VectorXd step = VectorXd::Zero(ratios.size());
  if (m == 0) return step;
  VectorXd gradient(m);
  MatrixXd hessian(m, m);
  MatrixXd expected(m, m);
  for (Index i = 0; i < m; ++i) {
    gradient[i] = d.gradient[free[static_cast<std::size_t>(i)]];
    for (Index j = 0; j < m; ++j) {
      hessian(i, j) = d.hessian(free[static_cast<std::size_t>(i)], free[static_cast<std::size_t>(j)]);
      expected(i, j) = d.expected(free[static_cast<std::size_t>(i)], free[static_cast<std::size_t>(j)]);
    }
  }
  Eigen::LLT<MatrixXd> llt(hessian);
  if (llt.info() != Eigen::Success) {
    expected.diagonal().array() += 1e-12 * (1 + expected.diagonal().maxCoeff());
    llt.compute(expected);
  }
  const VectorXd move = -llt.solve(gradient);
  for (Index i = 0; i < m; ++i) step[free[static_cast<std::size_t>(i)]] = move[i];
  return step;
}

}  // namespace

RemlFit fit_reml(const MatrixXd& x, const VectorXd& y, const std::vector<std::vector<int>>& groups) {
  FROSTCAL_ASSERT(x.rows() == y.size() && x.rows() > 0 && x.cols() > 0 && x.allFinite() && y.allFinite(),
                  "a mixed model needs matching shapes and finite values");
  RemlFit fit;
  const Index p = x.cols();
  if (x.rows() <= p) return fit;
  VectorXd scale = x.colwise().norm();
  for (Index j = 0; j < p; ++j) {
    if (!(scale[j] > 0)) scale[j] = 1;
  }
  Eigen::ColPivHouseholderQR<MatrixXd> qr(x * scale.cwiseInverse().asDiagonal());
  if (qr.rank() < p) {
    fit.status = RemlStatus::dependent_columns;
    return fit;
  }
  const MatrixXd q = qr.householderQ() * MatrixXd::Identity(x.rows(), p);
  const VectorXd along = q.transpose() * y;
  VectorXd rest = y - q * along;
  rest -= q * (q.transpose() * rest);
  const double epsilon = std::numeric_limits<double>::epsilon();
  if (rest.norm() <= 10 * epsilon * y.norm()) rest.setZero();  // rounding, not scatter
  CrossProducts products = cross_products(q, rest, groups);
  products.log_det_r =
      2 * (qr.matrixQR().diagonal().cwiseAbs().array().log().sum() + scale.array().log().sum());

  VectorXd ratios = VectorXd::Ones(products.effects());
  Point point = evaluate(products, ratios);
  fit.status = RemlStatus::not_converged;
  for (; fit.iterations < kMaxIterations && std::isfinite(point.criterion); ++fit.iterations) {
    const Derivatives d = derivatives(products, point);
    const VectorXd step = step_of(d, ratios);
    const VectorXd full = (ratios + step).cwiseMax(0.0);
    const double decrement = -d.gradient.dot(full - ratios);
    double length = 1;
    Point next = evaluate(products, full);
    while (!(next.criterion <= point.criterion) && length > 1e-10 && decrement >= 1e-9) {
      length *= 0.5;
      next = evaluate(products, (ratios + length * step).cwiseMax(0.0));
    }
    if (!std::isfinite(next.criterion)) break;
    ratios = (ratios + length * step).cwiseMax(0.0);
    point = next;
    if (decrement < 1e-9) {  // the step just taken leaves an error of its square
      fit.status = RemlStatus::converged;
      break;
    }
  }
  const MatrixXd r = qr.matrixQR().topRows(p).template triangularView<Eigen::Upper>();
  const MatrixXd r_inverse = r.template triangularView<Eigen::Upper>().solve(MatrixXd::Identity(p, p));
  const MatrixXd back = scale.cwiseInverse().asDiagonal() * MatrixXd(qr.colsPermutation() * r_inverse);
  if (point.shift.size() == 0) return fit;
  fit.coefficients = back * (along + point.shift);
  fit.residual_variance = point.residual_variance;
  fit.covariance = point.residual_variance * back * point.qvq_inverse * back.transpose();
  fit.standard_errors = fit.covariance.diagonal().cwiseMax(0.0).cwiseSqrt();
  fit.variances = point.residual_variance * ratios;
  fit.criterion = point.criterion;
  for (Index k = 0; k < products.effects(); ++k) {
    const auto at = static_cast<std::size_t>(k);
    fit.effects.push_back(ratios[k] *
                          point.zpy.segment(products.start[at], products.start[at + 1] - products.start[at]));
  }
  return fit;
}

}  // namespace frostcal::numerics
