#include "design/published_designs.hpp"

#include <Eigen/LU>
#include <catch2/catch.hpp>
#include <cmath>

#include "design/exchange.hpp"
#include "design/model_terms.hpp"
#include "published/ordinal_table.hpp"

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using Eigen::Index;
using Eigen::MatrixXd;
using namespace frostcal::design;

namespace {

MatrixXd points_of(const std::string& name) {
  std::vector<ordinal_table::Row> rows;
  for (const auto& row : ordinal_table::read("design_points.csv")) {
    if (row.at("design") == name) rows.push_back(row);
  }
  Index factors = 0;
  while (factors < 4 && !rows.front().at("x" + std::to_string(factors + 1)).empty()) ++factors;
  MatrixXd points(static_cast<Index>(rows.size()), factors);
  for (Index i = 0; i < points.rows(); ++i) {
    for (Index j = 0; j < factors; ++j) {
      points(i, j) = std::stod(rows[static_cast<std::size_t>(i)].at("x" + std::to_string(j + 1)));
    }
  }
  return points;
}

// The same runs in any order.
void check_same_runs(MatrixXd made, const MatrixXd& published) {
  REQUIRE(made.rows() == published.rows());
  std::vector<bool> used(static_cast<std::size_t>(made.rows()), false);
  for (Index i = 0; i < published.rows(); ++i) {
    bool found = false;
    for (Index k = 0; k < made.rows() && !found; ++k) {
      if (used[static_cast<std::size_t>(k)] || (made.row(k) - published.row(i)).cwiseAbs().maxCoeff() > 1e-10)
        continue;
      found = used[static_cast<std::size_t>(k)] = true;
    }
    CHECK(found);
  }
}

double prediction_variance(const MatrixXd& points, const Eigen::VectorXd& at) {
  const MatrixXd x = model_matrix(points, Order::second);
  const MatrixXd row = model_matrix(at.transpose(), Order::second);
  return (row * (x.transpose() * x).inverse() * row.transpose())(0, 0);
}

}  // namespace

TEST_CASE("central composite and Box-Behnken designs are the published ones", "[published][design]") {
  check_same_runs(central_composite(2, rotatable_alpha(2), 5), points_of("ccd_rotatable_k2"));
  check_same_runs(central_composite(3, rotatable_alpha(3), 6), points_of("ccd_rotatable_k3"));
  check_same_runs(central_composite(4, rotatable_alpha(4), 6), points_of("ccd_rotatable_k4"));
  check_same_runs(central_composite(2, 1, 5), points_of("ccd_face_k2"));
  check_same_runs(central_composite(3, 1, 6), points_of("ccd_face_k3"));
  check_same_runs(box_behnken(3, 3), points_of("bbd_k3"));
  check_same_runs(box_behnken(4, 3), points_of("bbd_k4"));
}

TEST_CASE("measures of the published designs", "[published][design]") {
  const std::pair<const char*, MatrixXd> designs[] = {
      {"ccd_rotatable_k2_n05", central_composite(2, rotatable_alpha(2), 5)},
      {"ccd_rotatable_k3_n06", central_composite(3, rotatable_alpha(3), 6)},
      {"ccd_rotatable_k4_n06", central_composite(4, rotatable_alpha(4), 6)},
      {"bbd_k3_n03", box_behnken(3, 3)},
      {"bbd_k4_n03", box_behnken(4, 3)},
      {"ccd_face_k2_n05", central_composite(2, 1, 5)},
      {"ccd_face_k3_n06", central_composite(3, 1, 6)},
  };
  const auto expected = ordinal_table::read("design_expected.csv");
  int compared = 0;
  for (const auto& [name, points] : designs) {
    const MatrixXd x = model_matrix(points, Order::second);
    std::vector<Index> all;
    for (Index i = 0; i < x.rows(); ++i) all.push_back(i);
    const OptimalDesign measures = evaluate_design(x, all);
    const Index k = points.cols();
    const Eigen::VectorXd axis = Eigen::VectorXd::Unit(k, 0);
    const Eigen::VectorXd diagonal = Eigen::VectorXd::Ones(k).normalized();
    const std::map<std::string, double> found = {
        {"XtX", std::exp(measures.log_det)},
        {"D", d_value(measures.log_det, x.cols(), x.rows())},
        {"centre", prediction_variance(points, Eigen::VectorXd::Zero(k))},
        {"axis_radius_1", prediction_variance(points, axis)},
        {"diagonal_radius_1", prediction_variance(points, diagonal)},
        {"leverage", measures.largest_variance}};
    for (const auto& row : expected) {
      if (row.at("case") != name || found.count(row.at("item")) == 0) continue;
      INFO(name << ' ' << row.at("item"));
      CHECK_THAT(found.at(row.at("item")), WithinRel(std::stod(row.at("value")), 1e-8));
      ++compared;
    }
  }
  CHECK(compared == 42);
  // NIST/SEMATECH e-Handbook 5.3.3.6.1, table 3.23.
  CHECK_THAT(rotatable_alpha(2), WithinAbs(1.414, 5e-4));
  CHECK_THAT(rotatable_alpha(3), WithinAbs(1.682, 5e-4));
  CHECK_THAT(rotatable_alpha(4), WithinAbs(2.000, 5e-4));
  CHECK_THAT(rotatable_alpha(5), WithinAbs(2.378, 5e-4));
}
