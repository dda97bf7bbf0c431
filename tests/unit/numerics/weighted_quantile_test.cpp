#include "numerics/weighted_quantile.hpp"

#include <catch2/catch.hpp>

using frostcal::numerics::weighted_quantile;

TEST_CASE("a weighted quantile is that of as many equal values", "[numerics]") {
  const Eigen::Vector3d values(7, 2, 5);
  const Eigen::Vector3d weights(0.25, 0.5, 0.25);  // 2 2 5 7
  CHECK(weighted_quantile(values, weights, 0.1) == 2);
  CHECK(weighted_quantile(values, weights, 0.5) == 2);
  CHECK(weighted_quantile(values, weights, 0.51) == 5);
  CHECK(weighted_quantile(values, weights, 0.75) == 5);
  CHECK(weighted_quantile(values, weights, 0.9) == 7);
  CHECK(weighted_quantile(values, weights, 1) == 7);
  CHECK(weighted_quantile(values, weights * 0.999, 1) == 7);
}
