#include "numerics/triangular_solve.hpp"

#include <catch2/catch.hpp>

#include "numerics/random_engine.hpp"

using Catch::Matchers::WithinAbs;
using Eigen::Index;

TEST_CASE("the solve from the right undoes the product, on both sides of a block's height", "[numerics]") {
  frostcal::numerics::RandomEngine random(6);
  for (const Index n : {1, 63, 64, 65, 200}) {
    const Eigen::MatrixXd rows = Eigen::MatrixXd::NullaryExpr(n, 9, [&] { return random.normal(); });
    Eigen::MatrixXd lower = Eigen::MatrixXd::NullaryExpr(9, 9, [&] { return random.normal(); });
    lower.diagonal().array() += 4;
    const Eigen::MatrixXd triangle = lower.triangularView<Eigen::Lower>();
    Eigen::MatrixXd wide(n, 12);
    wide.leftCols(3).setOnes();
    wide.rightCols(9) = rows * triangle.transpose();
    frostcal::numerics::times_inverse_transpose(lower, wide.rightCols(9));
    CHECK_THAT((wide.rightCols(9) - rows).cwiseAbs().maxCoeff(), WithinAbs(0, 1e-11));
    CHECK(wide.leftCols(3).isOnes());
  }
}
