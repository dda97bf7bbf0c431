#include "numerics/gauss_hermite.hpp"

#include <Eigen/Eigenvalues>
#include <cmath>

#include "errors/bug.hpp"

namespace frostcal::numerics {

NormalQuadrature normal_quadrature(int n) {
  FROSTCAL_ASSERT(n >= 1 && n <= 100, "normal_quadrature: number of nodes");
  Eigen::MatrixXd jacobi = Eigen::MatrixXd::Zero(n, n);
  for (int i = 1; i < n; ++i) jacobi(i, i - 1) = jacobi(i - 1, i) = std::sqrt(static_cast<double>(i));
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver(jacobi);
  NormalQuadrature rule;
  rule.nodes = solver.eigenvalues();
  rule.weights = solver.eigenvectors().row(0).transpose().cwiseAbs2();
  return rule;
}

}  // namespace frostcal::numerics
