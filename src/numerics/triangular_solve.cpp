#include "numerics/triangular_solve.hpp"

#include <algorithm>

namespace frostcal::numerics {

void times_inverse_transpose(const Eigen::MatrixXd& lower, Eigen::Ref<Eigen::MatrixXd> rows) {
  constexpr Eigen::Index kBlock = 64;
  for (Eigen::Index first = 0; first < rows.rows(); first += kBlock) {
    Eigen::MatrixXd block = rows.middleRows(first, std::min(kBlock, rows.rows() - first));
    for (Eigen::Index j = 0; j < block.cols(); ++j) {
      if (j > 0) block.col(j).noalias() -= block.leftCols(j) * lower.row(j).head(j).transpose();
      block.col(j) /= lower(j, j);
    }
    rows.middleRows(first, block.rows()) = block;
  }
}

}  // namespace frostcal::numerics
