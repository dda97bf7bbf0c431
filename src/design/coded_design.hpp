// Second-order designs in coded units, as published.
#pragma once

#include <Eigen/Core>

namespace frostcal::design {

/// Where the axial ("star") points of a central composite design lie.
enum class Composite {
  rotatable,     // at rotatable_alpha(), beyond the cube of the factorial points at -1 and 1
  face_centred,  // at 1, on the faces of the cube: three levels of each factor
  inscribed      // the rotatable design shrunk until its axial points lie at 1
};

/// Fourth root of the number of factorial points: with the axial points there, the prediction variance
/// depends on the distance from the centre only (G. E. P. Box and J. S. Hunter, Ann. Math. Statist. 28 (1957)
/// 195-241).
double rotatable_alpha(int factorial_points);

/// Centre points that make 13, 20 and 30 runs with 2, 3 and 4 factors (NIST/SEMATECH e-Handbook of
/// Statistical Methods, 5.3.3.6.3, table 3.28).
int published_centre_points(int factors);

/// Full factorial in standard order (the first factor changes fastest), axial points factor by factor (low,
/// high), centre points; one run a row, `factors` columns (G. E. P. Box and K. B. Wilson, J. R. Statist. Soc.
/// B 13 (1951) 1-45). 2 to 4 factors.
Eigen::MatrixXd central_composite(int factors, Composite kind, int centre_points);

/// Box-Behnken design for 3 or 4 factors: for each pair of factors the four corners at -1 and 1 with the
/// other factors at 0, then the centre points (G. E. P. Box and D. W. Behnken, Technometrics 2 (1960)
/// 455-475). For 4 factors the pairs come in the order of the paper's three blocks: 12 34, 14 23, 13 24.
Eigen::MatrixXd box_behnken(int factors, int centre_points = 3);

}  // namespace frostcal::design
