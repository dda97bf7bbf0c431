#include "surface/arrow_precision.hpp"

#include <Eigen/Cholesky>

namespace frostcal::surface {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

bool ArrowPrecision::finite() const {
  return core.allFinite() && outer.allFinite() && inner.allFinite() && outer_core.allFinite() &&
         inner_core.allFinite() && coupling.allFinite();
}

MatrixXd ArrowPrecision::dense(const std::vector<int>& outer_of_inner) const {
  const Index c = core.rows();
  const Index b = outer.size();
  MatrixXd all = MatrixXd::Zero(size(), size());
  all.topLeftCorner(c, c) = core;
  all.middleRows(c, b).leftCols(c) = outer_core;
  all.bottomRows(inner.size()).leftCols(c) = inner_core;
  all.diagonal().segment(c, b) = outer;
  all.diagonal().tail(inner.size()) = inner;
  for (Index k = 0; k < inner.size(); ++k) all(c + b + k, c + outer_of_inner[k]) = coupling(k);
  all.triangularView<Eigen::StrictlyUpper>() = all.transpose().triangularView<Eigen::StrictlyUpper>();
  return all;
}

ArrowFactor::ArrowFactor(const ArrowPrecision& precision, std::vector<int> outer_of_inner)
    : outer_of_inner_(std::move(outer_of_inner)),
      outer_pivot_(precision.outer),
      inner_pivot_(precision.inner),
      outer_core_(precision.outer_core),
      inner_core_(precision.inner_core),
      coupling_(precision.coupling) {
  for (Index k = 0; k < inner_pivot_.size(); ++k) {
    if (!(inner_pivot_(k) > 0)) return;
    const Index b = outer_of_inner_[k];
    outer_pivot_(b) -= coupling_(k) * coupling_(k) / inner_pivot_(k);
    outer_core_.row(b) -= coupling_(k) / inner_pivot_(k) * inner_core_.row(k);
  }
  if (outer_pivot_.size() && !(outer_pivot_.minCoeff() > 0)) return;
  const Index groups = outer_pivot_.size() + inner_pivot_.size();
  MatrixXd schur = precision.core;
  if (groups > 0) {
    const VectorXd outer_root = outer_pivot_.cwiseSqrt().cwiseInverse();
    const VectorXd inner_root = inner_pivot_.cwiseSqrt().cwiseInverse();
    outer_core_ = outer_root.asDiagonal() * outer_core_;
    inner_core_ = inner_root.asDiagonal() * inner_core_;
    MatrixXd eliminated(groups, schur.rows());
    eliminated << outer_core_, inner_core_;
    schur.selfadjointView<Eigen::Lower>().rankUpdate(eliminated.transpose(), -1.0);
    outer_core_ = outer_root.asDiagonal() * outer_core_;
    inner_core_ = inner_root.asDiagonal() * inner_core_;
    coupling_ = coupling_.cwiseQuotient(inner_pivot_);
  }
  const Eigen::LLT<MatrixXd> llt(schur);
  if (llt.info() != Eigen::Success) return;
  core_ = llt.matrixL();
  positive_ = core_.diagonal().allFinite() && (core_.size() == 0 || core_.diagonal().minCoeff() > 0);
}

VectorXd ArrowFactor::solve(const VectorXd& rhs) const {
  const Index c = core_.rows();
  const Index b = outer_pivot_.size();
  const Index k = inner_pivot_.size();
  VectorXd x = rhs;
  for (Index i = 0; i < k; ++i) x(c + outer_of_inner_[i]) -= coupling_(i) * x(c + b + i);
  x.head(c) -= outer_core_.transpose() * x.segment(c, b) + inner_core_.transpose() * x.tail(k);
  VectorXd core = x.head(c);
  core_.triangularView<Eigen::Lower>().solveInPlace(core);
  core_.triangularView<Eigen::Lower>().transpose().solveInPlace(core);
  x.head(c) = core;
  x.segment(c, b) = x.segment(c, b).cwiseQuotient(outer_pivot_) - outer_core_ * core;
  x.tail(k) = x.tail(k).cwiseQuotient(inner_pivot_) - inner_core_ * core;
  for (Index i = 0; i < k; ++i) x(c + b + i) -= coupling_(i) * x(c + outer_of_inner_[i]);
  return x;
}

double ArrowFactor::log_root_determinant() const {
  return core_.diagonal().array().log().sum() + 0.5 * outer_pivot_.array().log().sum() +
         0.5 * inner_pivot_.array().log().sum();
}

MatrixXd ArrowFactor::core_covariance() const {
  MatrixXd inverse = MatrixXd::Identity(core_.rows(), core_.rows());
  core_.triangularView<Eigen::Lower>().solveInPlace(inverse);
  MatrixXd out = MatrixXd::Zero(core_.rows(), core_.rows());
  out.selfadjointView<Eigen::Lower>().rankUpdate(inverse.transpose());
  out.triangularView<Eigen::StrictlyUpper>() = out.transpose().triangularView<Eigen::StrictlyUpper>();
  return out;
}

VectorXd ArrowFactor::variances() const {
  const Index c = core_.rows();
  const Index b = outer_pivot_.size();
  const Index k = inner_pivot_.size();
  VectorXd given_core(size());
  MatrixXd slope(c, size());  // given the core, a group's mean is -(its column)' core
  slope.leftCols(c).setIdentity();
  given_core.head(c).setZero();
  slope.middleCols(c, b) = outer_core_.transpose();
  given_core.segment(c, b) = outer_pivot_.cwiseInverse();
  slope.rightCols(k) = inner_core_.transpose();
  given_core.tail(k) = inner_pivot_.cwiseInverse();
  for (Index i = 0; i < k; ++i) {
    const Index of = outer_of_inner_[i];
    slope.col(c + b + i) -= coupling_(i) * outer_core_.row(of).transpose();
    given_core(c + b + i) += coupling_(i) * coupling_(i) / outer_pivot_(of);
  }
  core_.triangularView<Eigen::Lower>().solveInPlace(slope);
  return given_core + slope.colwise().squaredNorm().transpose();
}

ArrowFactor::Reduced ArrowFactor::reduced(const NestedGroups& groups) const {
  Reduced out{groups.inner_scale.asDiagonal() * inner_core_,
              groups.inner_scale.cwiseAbs2().cwiseQuotient(inner_pivot_)};
  for (Index k = 0; k < inner_pivot_.size(); ++k) {
    const Index b = outer_of_inner_[k];
    const double left = groups.outer_scale(b) - coupling_(k) * groups.inner_scale(k);
    out.core_shift.row(k) += left * outer_core_.row(b);
    out.variance(k) += left * left / outer_pivot_(b);
  }
  return out;
}

}  // namespace frostcal::surface
