#include "numerics/quadratic_form.hpp"

#include <algorithm>

namespace frostcal::numerics {
namespace {

template <typename Matrix>
Eigen::VectorXd forms_of(const Matrix& rows, const Matrix& s) {
  constexpr Eigen::Index kStripe = 16;  // columns
  Matrix product(rows.rows(), kStripe);
  Eigen::VectorXd sum = Eigen::VectorXd::Zero(rows.rows());
  for (Eigen::Index first = 0; first < rows.cols(); first += kStripe) {
    const Eigen::Index n = std::min(kStripe, rows.cols() - first);
    Matrix above = s.block(0, first, first + n, n);
    above.topRows(first) *= 2;  // for the part of S on the other side of the diagonal
    product.leftCols(n).noalias() = rows.leftCols(first + n) * above;
    sum +=
        product.leftCols(n).cwiseProduct(rows.middleCols(first, n)).rowwise().sum().template cast<double>();
  }
  return sum;
}

}  // namespace

Eigen::VectorXd quadratic_forms(const Eigen::MatrixXd& rows, const Eigen::MatrixXd& s) {
  return forms_of(rows, s);
}

Eigen::VectorXd quadratic_forms(const Eigen::MatrixXf& rows, const Eigen::MatrixXf& s) {
  return forms_of(rows, s);
}

}  // namespace frostcal::numerics
