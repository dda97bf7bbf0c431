// Logarithms of sums and differences that neither overflow nor cancel.
#pragma once

#include <Eigen/Core>

namespace frostcal::numerics {

/// log(1 + exp(x)).
double log1p_exp(double x);
/// log(1 - exp(x)) for x < 0; -infinity at 0. Switches at -log 2 (M. Maechler, "Accurately computing
/// log(1 - exp(-|a|))", vignette of the R package Rmpfr, 2012).
double log1m_exp(double x);
/// log(sum exp(x_i)); -infinity for an empty vector or when all entries are -infinity.
double log_sum_exp(const Eigen::VectorXd& x);

}  // namespace frostcal::numerics
