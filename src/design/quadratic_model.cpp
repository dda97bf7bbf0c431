#include "design/quadratic_model.hpp"

#include <algorithm>

#include "errors/bug.hpp"

namespace frostcal::design {

QuadraticModel QuadraticModel::full(int factors) {
  return {std::vector<bool>(static_cast<std::size_t>(factors), true)};
}

int QuadraticModel::terms() const {
  const int k = factors();
  return 1 + k + static_cast<int>(std::count(squared.begin(), squared.end(), true)) + k * (k - 1) / 2;
}

Eigen::RowVectorXd QuadraticModel::row(const Eigen::Ref<const Eigen::RowVectorXd>& point) const {
  const int k = factors();
  FROSTCAL_ASSERT(point.size() == k, "a point has one value per factor");
  Eigen::RowVectorXd row(terms());
  int at = 0;
  row(at++) = 1;
  for (int j = 0; j < k; ++j) row(at++) = point(j);
  for (int j = 0; j < k; ++j) {
    if (squared[static_cast<std::size_t>(j)]) row(at++) = point(j) * point(j);
  }
  for (int i = 0; i < k; ++i) {
    for (int j = i + 1; j < k; ++j) row(at++) = point(i) * point(j);
  }
  return row;
}

Eigen::MatrixXd QuadraticModel::rows(const Eigen::MatrixXd& points) const {
  Eigen::MatrixXd all(points.rows(), terms());
  for (Eigen::Index i = 0; i < points.rows(); ++i) all.row(i) = row(points.row(i));
  return all;
}

Eigen::MatrixXd mean_moments(const Eigen::MatrixXd& rows) {
  return rows.transpose() * rows / static_cast<double>(rows.rows());
}

Eigen::VectorXd quadratic_forms(const Eigen::MatrixXd& rows, const Eigen::MatrixXd& a) {
  const Eigen::MatrixXd product = rows * a;
  return product.cwiseProduct(rows).rowwise().sum();
}

}  // namespace frostcal::design
