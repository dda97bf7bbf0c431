// Published second-order designs, their prediction variances, and exact D-optimal designs.
#include <Eigen/Dense>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

#include "design/coded_design.hpp"
#include "design/exchange.hpp"
#include "design/quadratic_model.hpp"
#include "numerics/quadratic_form.hpp"
#include "published/published_table.hpp"

using namespace frostcal::design;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using published_table::Row;

namespace {

Eigen::MatrixXd points_in(const std::string& file, const std::string& design, int factors) {
  std::vector<Row> rows;
  for (const Row& row : published_table::read(file)) {
    if (design.empty() || row.at("design") == design) rows.push_back(row);
  }
  Eigen::MatrixXd points(static_cast<Eigen::Index>(rows.size()), factors);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    for (int j = 0; j < factors; ++j)
      points(static_cast<Eigen::Index>(i), j) = std::stod(rows[i].at("x" + std::to_string(j + 1)));
  }
  return points;
}

double expected(const std::string& name, const std::string& item, const std::string& quantity,
                const std::string& status = "computed") {
  for (const Row& row : published_table::read("design_expected.csv")) {
    if (row.at("case") == name && row.at("item") == item && row.at("quantity") == quantity &&
        row.at("status") == status)
      return std::stod(row.at("value"));
  }
  FAIL("no expected value " << name << ", " << item << ", " << quantity);
  return 0;
}

// All points of a grid with these levels in each of k factors.
Eigen::MatrixXd grid_points(const std::vector<double>& levels, int factors) {
  Eigen::Index count = 1;
  for (int j = 0; j < factors; ++j) count *= static_cast<Eigen::Index>(levels.size());
  Eigen::MatrixXd points(count, factors);
  for (Eigen::Index i = 0; i < count; ++i) {
    Eigen::Index rest = i;
    for (int j = 0; j < factors; ++j) {
      const auto size = static_cast<Eigen::Index>(levels.size());
      points(i, j) = levels[static_cast<std::size_t>(rest % size)];
      rest /= size;
    }
  }
  return points;
}

Eigen::MatrixXd select(const Eigen::MatrixXd& points, const std::vector<int>& rows) {
  Eigen::MatrixXd chosen(static_cast<Eigen::Index>(rows.size()), points.cols());
  for (std::size_t i = 0; i < rows.size(); ++i)
    chosen.row(static_cast<Eigen::Index>(i)) = points.row(rows[i]);
  return chosen;
}

struct Published {
  std::string name;   // in design_points.csv
  std::string check;  // in design_expected.csv
  int factors;
  std::function<Eigen::MatrixXd()> make;
};

const std::vector<Published>& published() {
  static const std::vector<Published> all{
      {"ccd_rotatable_k2", "ccd_rotatable_k2_n05", 2,
       [] { return central_composite(2, Composite::rotatable, published_centre_points(2)); }},
      {"ccd_rotatable_k3", "ccd_rotatable_k3_n06", 3,
       [] { return central_composite(3, Composite::rotatable, published_centre_points(3)); }},
      {"ccd_rotatable_k4", "ccd_rotatable_k4_n06", 4,
       [] { return central_composite(4, Composite::rotatable, published_centre_points(4)); }},
      {"ccd_face_k2", "ccd_face_k2_n05", 2,
       [] { return central_composite(2, Composite::face_centred, published_centre_points(2)); }},
      {"ccd_face_k3", "ccd_face_k3_n06", 3,
       [] { return central_composite(3, Composite::face_centred, published_centre_points(3)); }},
      {"bbd_k3", "bbd_k3_n03", 3, [] { return box_behnken(3); }},
      {"bbd_k4", "bbd_k4_n03", 4, [] { return box_behnken(4); }}};
  return all;
}

}  // namespace

TEST_CASE("published designs are reproduced point by point", "[published][design]") {
  for (const Published& design : published()) {
    const Eigen::MatrixXd wanted = points_in("design_points.csv", design.name, design.factors);
    const Eigen::MatrixXd made = design.make();
    CAPTURE(design.name);
    REQUIRE(made.rows() == wanted.rows());
    REQUIRE(made.cols() == wanted.cols());
    CHECK((made - wanted).cwiseAbs().maxCoeff() < 1e-11);
  }
}

TEST_CASE("run counts and star distances are those of the handbook", "[published][design]") {
  for (const auto& [name, factors] :
       {std::pair<std::string, int>{"ccd_k2", 2}, {"ccd_k3", 3}, {"ccd_k4", 4}}) {
    const auto runs =
        central_composite(factors, Composite::rotatable, published_centre_points(factors)).rows();
    CHECK(static_cast<double>(runs) == expected(name, "runs", "n", "published"));
  }
  CHECK(static_cast<double>(box_behnken(3).rows()) == expected("bbd_k3", "runs", "n", "published"));
  CHECK(static_cast<double>(box_behnken(4).rows()) == expected("bbd_k4", "runs", "n", "published"));
  const std::vector<std::pair<std::string, int>> factorials{{"k2_full", 4},  {"k3_full", 8},  {"k4_full", 16},
                                                            {"k5_half", 16}, {"k5_full", 32}, {"k6_half", 32},
                                                            {"k6_full", 64}};
  for (const auto& [item, corners] : factorials) {
    CAPTURE(item);
    CHECK_THAT(rotatable_alpha(corners), WithinAbs(expected("ccd_rotatable_alpha", item, "alpha"), 1e-11));
    CHECK_THAT(rotatable_alpha(corners),
               WithinAbs(expected("ccd_rotatable_alpha", item, "alpha", "published"), 5e-4));
  }
}

TEST_CASE("the inscribed design is the rotatable one within the cube", "[published][design]") {
  for (int factors = 2; factors <= 4; ++factors) {
    const Eigen::MatrixXd rotatable = central_composite(factors, Composite::rotatable, 3);
    const Eigen::MatrixXd inscribed = central_composite(factors, Composite::inscribed, 3);
    CHECK_THAT(inscribed.cwiseAbs().maxCoeff(), WithinAbs(1, 1e-15));
    CHECK((inscribed * rotatable_alpha(1 << factors) - rotatable).cwiseAbs().maxCoeff() < 1e-14);
  }
}

TEST_CASE("determinants, leverages and prediction variances of published designs", "[published][design]") {
  for (const Published& design : published()) {
    CAPTURE(design.check);
    const QuadraticModel model = QuadraticModel::full(design.factors);
    const Eigen::MatrixXd rows = model.rows(design.make());
    const double runs = static_cast<double>(rows.rows());
    const double terms = static_cast<double>(rows.cols());
    const Eigen::MatrixXd m = rows.transpose() * rows;
    const Eigen::MatrixXd inverse = m.llt().solve(Eigen::MatrixXd::Identity(m.rows(), m.rows()));
    CHECK_THAT(m.determinant(), WithinRel(expected(design.check, "XtX", "det"), 1e-9));
    CHECK_THAT(std::pow(m.determinant(), 1 / terms) / runs,
               WithinRel(expected(design.check, "D", "det_M_pow_1_over_p"), 1e-9));
    CHECK_THAT(runs * inverse.trace() / terms,
               WithinRel(expected(design.check, "A", "trace_inv_M_over_p"), 1e-9));
    const double leverage = frostcal::numerics::quadratic_forms(rows, inverse).maxCoeff();
    CHECK_THAT(leverage, WithinRel(expected(design.check, "leverage", "max"), 1e-9));
    CHECK_THAT(terms / runs / leverage,
               WithinRel(expected(design.check, "G_eff_over_design_points", "p_over_n_max_h"), 1e-9));
    const int k = design.factors;
    Eigen::MatrixXd at = Eigen::MatrixXd::Zero(3, k);
    at(1, 0) = 1;
    at.row(2).setConstant(1 / std::sqrt(static_cast<double>(k)));
    const Eigen::VectorXd variance = frostcal::numerics::quadratic_forms(model.rows(at), inverse);
    CHECK_THAT(variance(0), WithinRel(expected(design.check, "centre", "unscaled_pred_var"), 1e-9));
    CHECK_THAT(variance(1), WithinRel(expected(design.check, "axis_radius_1", "unscaled_pred_var"), 1e-9));
    CHECK_THAT(variance(2),
               WithinRel(expected(design.check, "diagonal_radius_1", "unscaled_pred_var"), 1e-9));
  }
}

TEST_CASE("exact D-optimal designs for a quadratic in two factors", "[published][design]") {
  const QuadraticModel model = QuadraticModel::full(2);
  ExchangeOptions options;
  options.criterion = Criterion::d;
  for (const auto& [grid, levels, most] :
       {std::tuple<std::string, std::vector<double>, int>{"exactD_quad2_grid3x3_n", {-1, 0, 1}, 13},
        {"exactD_quad2_grid5x5_n", {-1, -0.5, 0, 0.5, 1}, 9}}) {
    const Eigen::MatrixXd points = grid_points(levels, 2);
    const Eigen::MatrixXd candidates = model.rows(points);
    for (int n = 6; n <= most; ++n) {
      const ExchangeResult found = exchange(candidates, mean_moments(candidates), n, options);
      CAPTURE(grid, n);
      REQUIRE(found.estimable);
      const Eigen::MatrixXd design = select(candidates, found.rows);
      const double det = (design.transpose() * design).determinant();
      CHECK_THAT(det, WithinRel(expected(grid + std::to_string(n), "optimum", "det_XtX"), 1e-9));
      CHECK_THAT(std::exp(found.log_det), WithinRel(det, 1e-9));
      CHECK_THAT(std::exp(found.log_det / 6) / n,
                 WithinRel(expected(grid + std::to_string(n), "optimum", "D_det_pow_1_6_over_n"), 1e-9));
    }
  }
}

TEST_CASE("the 15-run D-optimal design of three factors on five levels", "[published][design]") {
  const QuadraticModel model = QuadraticModel::full(3);
  const Eigen::MatrixXd points = grid_points({-2, -1, 0, 1, 2}, 3);
  const Eigen::MatrixXd candidates = model.rows(points);
  ExchangeOptions options;
  options.criterion = Criterion::d;
  options.starts = 60;
  const ExchangeResult found = exchange(candidates, mean_moments(candidates), 15, options);
  REQUIRE(found.estimable);
  const double d = std::exp(found.log_det / 10) / 15;
  CHECK_THAT(
      d, WithinAbs(expected("exactD_quad3_grid5x5x5_levels_pm2_n15", "best_found", "D", "published"), 5e-7));
  CHECK_THAT(d, WithinRel(expected("exactD_quad3_grid5x5x5_levels_pm2_n15", "best_found", "D"), 1e-9));
  const Eigen::MatrixXd listed = model.rows(points_in("design_dopt15_k3.csv", "", 3));
  CHECK_THAT(std::pow((listed.transpose() * listed).determinant(), 0.1) / 15, WithinRel(d, 1e-9));
}

TEST_CASE("D-optimal designs of three factors on three levels", "[published][design]") {
  const QuadraticModel model = QuadraticModel::full(3);
  const Eigen::MatrixXd candidates = model.rows(grid_points({-1, 0, 1}, 3));
  ExchangeOptions options;
  options.criterion = Criterion::d;
  options.starts = 400;
  for (const int n : {10, 11, 12, 13, 14, 15, 16, 18, 20}) {
    const ExchangeResult found = exchange(candidates, mean_moments(candidates), n, options);
    CAPTURE(n);
    REQUIRE(found.estimable);
    const double known = expected("exactD_quad3_grid3x3x3_n" + std::to_string(n), "best_found", "D");
    CHECK(std::exp(found.log_det / 10) / n >= known * (1 - 1e-9));
  }
  // The face-centred composite without centre points is the 14-run optimum.
  const Eigen::MatrixXd faces = model.rows(central_composite(3, Composite::face_centred, 0));
  const Eigen::MatrixXd m = faces.transpose() * faces;
  const double d = std::pow(m.determinant(), 0.1) / 14;
  CHECK_THAT(d, WithinRel(expected("ccf14_k3", "D", "D"), 1e-9));
  CHECK_THAT(d / expected("contD_quad3_cube", "D", "det_M_pow_1_10"),
             WithinAbs(expected("ccf14_k3", "efficiency", "D_eff_vs_continuous", "published"), 5e-3));
  const double largest =
      frostcal::numerics::quadratic_forms(candidates, m.llt().solve(Eigen::MatrixXd::Identity(10, 10)))
          .maxCoeff();
  CHECK_THAT(10 / (14 * largest), WithinRel(expected("ccf14_k3", "efficiency", "G_eff_on_3x3x3"), 1e-9));
  CHECK_THAT(10 / (14 * largest),
             WithinAbs(expected("ccf14_k3", "efficiency", "G_eff_on_3x3x3", "published"), 5e-3));
}

// The general equivalence theorem: at a D-optimal measure the largest prediction variance is the number of
// terms (J. Kiefer and J. Wolfowitz, Canad. J. Math. 12 (1960) 363-366).
TEST_CASE("large exact designs approach the continuous D-optimum", "[published][design]") {
  const QuadraticModel model = QuadraticModel::full(2);
  const Eigen::MatrixXd candidates = model.rows(grid_points({-1, -0.5, 0, 0.5, 1}, 2));
  ExchangeOptions options;
  options.criterion = Criterion::d;
  options.starts = 5;
  const int n = 200;
  const ExchangeResult found = exchange(candidates, mean_moments(candidates), n, options);
  const double limit = expected("contD_quad2_square", "D", "det_M_pow_1_6");
  const double d = std::exp(found.log_det / 6) / n;
  CHECK(d <= limit * (1 + 1e-9));
  CHECK(d >= limit * 0.9995);
  const Eigen::MatrixXd design = select(candidates, found.rows);
  const Eigen::MatrixXd m = design.transpose() * design;
  const double largest =
      frostcal::numerics::quadratic_forms(candidates, m.llt().solve(Eigen::MatrixXd::Identity(6, 6)))
          .maxCoeff();
  CHECK(n * largest >= 6 - 1e-9);
  CHECK(n * largest < 6.15);
}
