// What the other grades say of each grade: leave-one-out predictions from the fit that saw them all.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "surface/cumulative_link.hpp"

namespace frostcal::surface {

/// P(category <= j), n x (J-1), for each row when one swatch of it (of a lighter row: the row) is left out.
/// The swatch's share of the row's site is divided out of the posterior of (cutpoints - eta) at theta ~
/// N(mean, factor^-1), which leaves its cavity: exact up to the approximation that expectation propagation
/// is. No sites: Laplace's approximation, whose site is the quadratic at the mean. Rows whose category is a
/// range are 0.
Eigen::MatrixXd left_out_probabilities(const CumulativeLinkModel& model, const Eigen::VectorXd& mean,
                                       const ArrowFactor& factor, const std::vector<RowQuadratic>& sites);

/// Those of a mixture: each row weighs the components anew by what they say without the swatch. One matrix of
/// the above and one weight for each component.
Eigen::MatrixXd mixed_left_out(const CumulativeLinkModel& rows,
                               const std::vector<Eigen::MatrixXd>& components,
                               const Eigen::VectorXd& weights);

}  // namespace frostcal::surface
