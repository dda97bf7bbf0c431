// Response-surface designs exactly as published, in coded units: n x k, rows are runs.
#pragma once

#include <Eigen/Core>

namespace frostcal::design {

/// Axial distance that makes a full central composite design rotatable: (2^k)^(1/4).
/// Source: G. E. P. Box and J. S. Hunter, Ann. Math. Statist. 28 (1957) 195-241 (from memory); NIST/SEMATECH
/// e-Handbook 5.3.3.6.1, table 3.23.
double rotatable_alpha(int factors);

/// Factorial points in standard order (x1 changes fastest), axial points -alpha, +alpha by factor, then
/// centre points. factors 2 to 6.
Eigen::MatrixXd central_composite(int factors, double alpha, int centre_points);

/// Box-Behnken design with the pairs of factors at (+-1, +-1) and the rest at 0, then centre points; factors
/// 3 or 4. Source: G. E. P. Box and D. W. Behnken, Technometrics 2 (1960) 455-475 (from memory);
/// NIST/SEMATECH e-Handbook 5.3.3.6.2 and table 3.28.
Eigen::MatrixXd box_behnken(int factors, int centre_points);

}  // namespace frostcal::design
