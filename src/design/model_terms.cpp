#include "design/model_terms.hpp"

namespace frostcal::design {

using Eigen::Index;

Eigen::MatrixXd model_matrix(const Eigen::MatrixXd& coded, Order order) {
  const Index k = coded.cols();
  const Index pairs = order == Order::first ? 0 : k * (k - 1) / 2;
  const Index squares = order == Order::second ? k : 0;
  Eigen::MatrixXd x(coded.rows(), 1 + k + pairs + squares);
  x.col(0).setOnes();
  x.middleCols(1, k) = coded;
  Index at = 1 + k;
  for (Index i = 0; pairs > 0 && i < k; ++i) {
    for (Index j = i + 1; j < k; ++j) x.col(at++) = coded.col(i).cwiseProduct(coded.col(j));
  }
  for (Index i = 0; i < squares; ++i) x.col(at++) = coded.col(i).cwiseAbs2();
  return x;
}

}  // namespace frostcal::design
