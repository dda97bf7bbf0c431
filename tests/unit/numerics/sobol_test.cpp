#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "errors/bug.hpp"
#include "numerics/sobol.hpp"

using frostcal::numerics::sobol_points;

// tests/published/data/sobol_joekuo_d6.csv: first 32 points of scipy.stats.qmc.Sobol(6, scramble=False),
// SciPy 1.10.1, which uses the direction numbers of Joe and Kuo 2008.
TEST_CASE("the first points are those of Joe and Kuo's direction numbers", "[numerics][published]") {
  std::ifstream file(std::string(FROSTCAL_TEST_DATA) + "/sobol_joekuo_d6.csv");
  std::string line;
  std::getline(file, line);
  const Eigen::MatrixXd points = sobol_points(32, 6);
  int row = 0;
  while (std::getline(file, line)) {
    std::stringstream cells(line);
    std::string cell;
    std::getline(cells, cell, ',');
    for (int d = 0; d < 6; ++d) {
      std::getline(cells, cell, ',');
      CHECK(points(row, d) == std::stod(cell));
    }
    ++row;
  }
  CHECK(row == 32);
}

TEST_CASE("every coordinate of 2^m points fills each of 2^m cells once", "[numerics]") {
  for (const bool scrambled : {false, true}) {
    const Eigen::MatrixXd points = scrambled ? sobol_points(256, 10, 7) : sobol_points(256, 10);
    for (int d = 0; d < 10; ++d) {
      std::vector<int> count(256, 0);
      for (int i = 0; i < 256; ++i) ++count[static_cast<int>(points(i, d) * 256)];
      CHECK(std::count(count.begin(), count.end(), 1) == 256);
    }
  }
}

TEST_CASE("the first two coordinates stay a (0, m, 2)-net under scrambling", "[numerics]") {
  const Eigen::MatrixXd points = sobol_points(64, 2, 99);
  for (int k = 0; k <= 6; ++k) {
    const int across = 1 << k;
    const int along = 64 / across;
    std::vector<int> count(64, 0);
    for (int i = 0; i < 64; ++i) {
      ++count[static_cast<int>(points(i, 0) * across) * along + static_cast<int>(points(i, 1) * along)];
    }
    CHECK(std::count(count.begin(), count.end(), 1) == 64);
  }
}

TEST_CASE("seeds give different points within the open unit cube, and the same seed the same", "[numerics]") {
  const Eigen::MatrixXd a = sobol_points(16, 4, 1);
  CHECK(a == sobol_points(16, 4, 1));
  CHECK(a != sobol_points(16, 4, 2));
  CHECK(a.minCoeff() > 0);
  CHECK(a.maxCoeff() < 1);
  CHECK_THROWS_AS(sobol_points(4, 11), frostcal::errors::Bug);
  CHECK(sobol_points(0, 3).rows() == 0);
}
