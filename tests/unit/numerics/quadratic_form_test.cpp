#include "numerics/quadratic_form.hpp"

#include <catch2/catch.hpp>

#include "numerics/random_engine.hpp"

using Catch::Matchers::WithinAbs;
using Eigen::Index;
using frostcal::numerics::quadratic_forms;

TEST_CASE("quadratic forms row by row, on both sides of a stripe's width", "[numerics]") {
  frostcal::numerics::RandomEngine random(5);
  for (const Index p : {1, 15, 16, 17, 40}) {
    const Eigen::MatrixXd rows = Eigen::MatrixXd::NullaryExpr(7, p, [&] { return random.normal(); });
    const Eigen::MatrixXd root = Eigen::MatrixXd::NullaryExpr(p, p, [&] { return random.normal(); });
    const Eigen::MatrixXd s = root * root.transpose() / static_cast<double>(p);
    const Eigen::VectorXd forms = quadratic_forms(rows, s);
    const Eigen::MatrixXf single_rows = rows.cast<float>();
    const Eigen::MatrixXf single_s = s.cast<float>();
    const Eigen::VectorXd single = quadratic_forms(single_rows, single_s);
    REQUIRE(forms.size() == 7);
    for (Index i = 0; i < 7; ++i) {
      const double direct = rows.row(i) * s * rows.row(i).transpose();
      CHECK_THAT(forms(i), WithinAbs(direct, 1e-12 * (1 + direct)));
      CHECK_THAT(single(i), WithinAbs(direct, 1e-4 * (1 + direct)));
    }
  }
}
