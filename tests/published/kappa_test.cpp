// Weighted kappa against the table of Cohen 1968 and a five-grade example.
#include <catch2/catch.hpp>

#include "grades/rater_agreement.hpp"
#include "published/published_table.hpp"

using Catch::Matchers::WithinAbs;
using namespace frostcal::grades;

namespace {

Eigen::MatrixXd counts_of(const std::string& table) {
  std::vector<std::vector<double>> rows;
  for (const auto& row : published_table::read("kappa_tables.csv")) {
    if (row.at("table") != table) continue;
    rows.emplace_back();
    for (const char* column : {"c1", "c2", "c3", "c4", "c5"}) {
      if (!row.at(column).empty()) rows.back().push_back(std::stod(row.at(column)));
    }
  }
  Eigen::MatrixXd counts(static_cast<Eigen::Index>(rows.size()), static_cast<Eigen::Index>(rows.size()));
  for (std::size_t i = 0; i < rows.size(); ++i) {
    REQUIRE(rows[i].size() == rows.size());
    for (std::size_t j = 0; j < rows.size(); ++j) {
      counts(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) = rows[i][j];
    }
  }
  return counts;
}

Eigen::MatrixXd weights_of(const std::string& name, int grades) {
  if (name == "identity") return disagreement_weights(KappaWeights::identity, grades);
  if (name == "linear |i-j|") return disagreement_weights(KappaWeights::linear, grades);
  if (name == "quadratic (i-j)^2") return disagreement_weights(KappaWeights::quadratic, grades);
  REQUIRE(name == "disagreement 0 1 3 / 1 0 6 / 3 6 0");
  Eigen::MatrixXd weights(3, 3);
  weights << 0, 1, 3, 1, 0, 6, 3, 6, 0;
  return weights;
}

}  // namespace

TEST_CASE("weighted kappa reaches published and computed values", "[published][kappa]") {
  int compared = 0;
  for (const auto& row : published_table::read("kappa.csv")) {
    const Eigen::MatrixXd counts = counts_of(row.at("table"));
    const Kappa kappa =
        weighted_kappa(counts, weights_of(row.at("weights"), static_cast<int>(counts.rows())));
    INFO(row.at("table") << ' ' << row.at("weights"));
    CHECK_THAT(kappa.kappa, WithinAbs(std::stod(row.at("kappa")), 1e-10));
    CHECK(kappa.low < kappa.kappa);
    CHECK(kappa.high > kappa.kappa);
    ++compared;
  }
  CHECK(compared == 7);
}
