// Nodes and weights for averages over a standard normal variable.
#pragma once

#include <Eigen/Core>

namespace frostcal::numerics {

/// sum_i weights(i) g(nodes(i)) = E[g(Z)], Z ~ N(0, 1), exact for polynomials of degree 2n - 1.
struct NormalQuadrature {
  Eigen::VectorXd nodes;    // ascending
  Eigen::VectorXd weights;  // sum to 1
};

/// n-point rule by the eigenvalues of the Jacobi matrix of the Hermite polynomials
/// (G. H. Golub and J. H. Welsch, Math. Comp. 23 (1969) 221-230). Throws errors::Bug unless 1 <= n <= 100.
NormalQuadrature normal_quadrature(int n);

}  // namespace frostcal::numerics
