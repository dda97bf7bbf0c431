// Ordinal rows on bottles and burns, as groups and as columns of the design.
#pragma once

#include <Eigen/Core>
#include <algorithm>
#include <cmath>

#include "numerics/random_engine.hpp"
#include "surface/cumulative_link.hpp"

namespace frostcal::surface {

/// 40 rows on 3 bottles with 2 burns each and one row on a bottle of its own without a burn effect.
inline CumulativeLinkModel nested_model(numerics::RandomEngine& random) {
  CumulativeLinkModel m;
  m.noise = 0.5;
  m.design = Eigen::MatrixXd::NullaryExpr(41, 4, [&] { return random.normal(); });
  m.offset = Eigen::VectorXd::NullaryExpr(41, [&] { return 1.5 + 0.3 * random.normal(); });
  m.groups.outer_of_inner = {0, 0, 1, 1, 2, 2, 3};
  m.groups.outer_scale = Eigen::Vector4d(0.3, 0.3, 0.6, 0.3);
  m.groups.inner_scale.resize(7);
  m.groups.inner_scale << 0.15, 0.15, 0.15, 0.9, 0.15, 0.15, 0;
  for (int i = 0; i < 41; ++i) m.groups.inner_of_row.push_back(i < 40 ? (i * 5) % 6 : 6);
  m.weight = Eigen::VectorXd::Ones(41);
  m.weight(3) = 2.5;
  m.cutpoint_offset = Eigen::VectorXd::LinSpaced(5, 0.5, 4.5);
  m.cutpoint_map = Eigen::MatrixXd::Zero(5, 4);
  for (int j = 1; j < 5; ++j) m.cutpoint_map.row(j).head(j).setConstant(0.25);
  m.precision = Eigen::VectorXd::Ones(m.parameters());
  for (Eigen::Index i = 0; i < 41; ++i) {
    const double latent = m.offset(i) + m.design(i, 0) + 0.5 * random.normal();
    m.category.push_back(std::clamp(static_cast<int>(std::lround(latent)), 0, 5));
  }
  return m;
}

/// The same with each group's indicator as a column of the design, so that nothing is left to eliminate.
inline CumulativeLinkModel with_columns(const CumulativeLinkModel& m) {
  CumulativeLinkModel flat = m;
  flat.groups = {};
  const Eigen::Index r = m.design.cols();
  flat.design.conservativeResize(Eigen::NoChange, r + m.groups.outer() + m.groups.inner());
  flat.design.rightCols(flat.design.cols() - r).setZero();
  for (Eigen::Index i = 0; i < m.design.rows(); ++i) {
    const int k = m.groups.inner_of_row[i];
    const int b = m.groups.outer_of_inner[k];
    flat.design(i, r + b) = m.groups.outer_scale(b);
    flat.design(i, r + m.groups.outer() + k) = m.groups.inner_scale(k);
  }
  return flat;
}

}  // namespace frostcal::surface
