// REML fits against nlme, lme4 and MASS, and, where everything is balanced, against the mean squares of the
// analysis of variance.
#include "numerics/variance_components.hpp"

#include <Eigen/Cholesky>
#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/distributions.hpp"
#include "published/published_table.hpp"

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using Eigen::Index;
using frostcal::numerics::fit_reml;
using frostcal::numerics::RemlFit;
using frostcal::numerics::RemlStatus;

namespace {

using published_table::Row;
using Found = std::map<std::pair<std::string, std::string>, double>;

struct Groups {
  std::vector<int> number;
  std::vector<std::string> names;
};

Groups groups_of(const std::vector<Row>& rows, const std::vector<std::string>& columns) {
  Groups groups;
  for (const Row& row : rows) {
    std::string name;
    for (const std::string& column : columns) name += (name.empty() ? "" : ".") + row.at(column);
    std::size_t at = 0;
    while (at < groups.names.size() && groups.names[at] != name) ++at;
    if (at == groups.names.size()) groups.names.push_back(name);
    groups.number.push_back(static_cast<int>(at));
  }
  return groups;
}

Eigen::VectorXd numbers(const std::vector<Row>& rows, const std::string& column) {
  Eigen::VectorXd values(static_cast<Index>(rows.size()));
  for (std::size_t i = 0; i < rows.size(); ++i) values[static_cast<Index>(i)] = std::stod(rows[i].at(column));
  return values;
}

Eigen::VectorXd indicator(const std::vector<Row>& rows, const std::string& column, const std::string& level) {
  Eigen::VectorXd values(static_cast<Index>(rows.size()));
  for (std::size_t i = 0; i < rows.size(); ++i) {
    values[static_cast<Index>(i)] = rows[i].at(column) == level ? 1 : 0;
  }
  return values;
}

// Orthonormal polynomials on four equally spaced levels 0, 0.2, 0.4, 0.6.
Eigen::MatrixXd four_level_polynomials(const Eigen::VectorXd& nitro) {
  Eigen::MatrixXd columns(nitro.size(), 3);
  for (Index i = 0; i < nitro.size(); ++i) {
    const double z = 5 * nitro[i] - 1.5;
    columns.row(i) << z / std::sqrt(5.0), (z * z - 1.25) / 2,
        (10 * z * z * z - 20.5 * z) / 3 / std::sqrt(20.0);
  }
  return columns;
}

struct Column {
  std::string name;
  Eigen::VectorXd values;
};

struct Effect {
  std::string name;
  Groups groups;
  std::string blup_prefix;
};

Found fitted(const std::vector<Column>& columns, const Eigen::VectorXd& y,
             const std::vector<Effect>& effects) {
  Eigen::MatrixXd x(y.size(), static_cast<Index>(columns.size()));
  for (std::size_t j = 0; j < columns.size(); ++j) x.col(static_cast<Index>(j)) = columns[j].values;
  std::vector<std::vector<int>> groups;
  for (const Effect& effect : effects) groups.push_back(effect.groups.number);
  const RemlFit fit = fit_reml(x, y, groups);
  REQUIRE(fit.status == RemlStatus::converged);
  Found found;
  for (std::size_t j = 0; j < columns.size(); ++j) {
    found[{columns[j].name, "coef"}] = fit.coefficients[static_cast<Index>(j)];
    found[{columns[j].name, "se"}] = fit.standard_errors[static_cast<Index>(j)];
  }
  for (std::size_t k = 0; k < effects.size(); ++k) {
    const double variance = fit.variances[static_cast<Index>(k)];
    found[{effects[k].name, "variance"}] = variance;
    found[{effects[k].name, "sd"}] = std::sqrt(variance);
    found[{effects[k].name, "theta_sd_ratio"}] = std::sqrt(variance / fit.residual_variance);
    for (std::size_t g = 0; g < effects[k].groups.names.size(); ++g) {
      found[{effects[k].blup_prefix + effects[k].groups.names[g], "blup"}] =
          fit.effects[k][static_cast<Index>(g)];
    }
  }
  found[{"Residual", "variance"}] = fit.residual_variance;
  found[{"Residual", "sd"}] = std::sqrt(fit.residual_variance);
  found[{"closed_form", "variance_batch"}] = fit.variances[0];
  found[{"closed_form", "variance_residual"}] = fit.residual_variance;
  found[{"model", "reml_criterion"}] = fit.criterion;
  found[{"model", "reml_logLik"}] = -0.5 * fit.criterion;
  return found;
}

Column intercept(std::size_t n) {
  return {"intercept", Eigen::VectorXd::Ones(static_cast<Index>(n))};
}

}  // namespace

TEST_CASE("REML: oats in split plots", "[published][reml]") {
  const auto rows = published_table::read("mixed_oats.csv");
  const Eigen::VectorXd y = numbers(rows, "yield");
  const Eigen::VectorXd nitro = numbers(rows, "nitro");
  const Eigen::MatrixXd polynomial = four_level_polynomials(nitro);
  const Effect block{"block", groups_of(rows, {"block"}), "block_"};
  const Effect plot{"bv", groups_of(rows, {"block", "variety"}), "plot_"};
  const Column marvellous{"Marvellous", indicator(rows, "variety", "Marvellous")};
  const Column victory{"Victory", indicator(rows, "variety", "Victory")};
  const std::vector<Column> by_level{intercept(rows.size()),
                                     {"nitro.L", polynomial.col(0)},
                                     {"nitro.Q", polynomial.col(1)},
                                     {"nitro.C", polynomial.col(2)}};
  std::vector<Column> with_variety = by_level;
  with_variety.push_back(marvellous);
  with_variety.push_back(victory);
  const std::string file = "mixed_expected.csv";
  const published_table::Nearness near{1e-6, 0};
  const Column linear{"nitro", nitro};
  CHECK(published_table::compare_every(
            file, "oats_linear_reml", fitted({intercept(rows.size()), linear}, y, {block, plot}), near) > 40);
  CHECK(published_table::compare_every(file, "oats_factor_reml", fitted(with_variety, y, {block, plot}),
                                       near) > 30);
  // One standard error is printed as 6.6407 where 6.64063 is computed.
  CHECK(published_table::compare_every(file, "oats_nitro_only_reml", fitted(by_level, y, {block, plot}),
                                       {1e-6, 7.5e-5}) > 20);
  CHECK(published_table::compare_every(
            file, "oats_block_only_reml",
            fitted({intercept(rows.size()), linear, marvellous, victory}, y, {block}), near) > 18);
}

// In a balanced split plot, REML's variances are the mean squares' method-of-moments estimates and the Wald
// statistics are the F ratios of the strata, as long as no variance is 0.
TEST_CASE("REML: the strata of the oats' analysis of variance", "[published][reml]") {
  const auto rows = published_table::read("mixed_oats.csv");
  const Eigen::MatrixXd polynomial = four_level_polynomials(numbers(rows, "nitro"));
  Eigen::MatrixXd x(static_cast<Index>(rows.size()), 12);
  x.col(0).setOnes();
  x.col(1) = indicator(rows, "variety", "Marvellous");
  x.col(2) = indicator(rows, "variety", "Victory");
  x.leftCols(3).rightCols(2).array() -= 1.0 / 3;  // so that nitro is judged over all varieties
  x.middleCols(3, 3) = polynomial;
  for (Index v = 0; v < 2; ++v) {
    x.middleCols(6 + 3 * v, 3) = x.col(1 + v).asDiagonal() * polynomial;
  }
  const RemlFit fit =
      fit_reml(x, numbers(rows, "yield"),
               {groups_of(rows, {"block"}).number, groups_of(rows, {"block", "variety"}).number});
  REQUIRE(fit.status == RemlStatus::converged);
  const auto f_ratio = [&](Index first, Index count) {
    const Eigen::VectorXd b = fit.coefficients.segment(first, count);
    return b.dot(fit.covariance.block(first, first, count, count).ldlt().solve(b)) /
           static_cast<double>(count);
  };
  const double within = fit.residual_variance;
  const double plot = within + 4 * fit.variances[1];
  const double block = plot + 12 * fit.variances[0];
  Found found;
  found[{"within_residual", "ms"}] = within;
  found[{"within_residual", "df"}] = 45;
  found[{"within_residual", "ss"}] = 45 * within;
  found[{"block:variety_residual", "ms"}] = plot;
  found[{"block:variety_residual", "df"}] = 10;
  found[{"block:variety_residual", "ss"}] = 10 * plot;
  found[{"block_residual", "ms"}] = block;
  found[{"block_residual", "df"}] = 5;
  found[{"block_residual", "ss"}] = 5 * block;
  const auto add = [&](const std::string& name, Index first, Index count, double error, double error_df) {
    const double f = f_ratio(first, count);
    found[{name, "F"}] = f;
    found[{name, "df"}] = static_cast<double>(count);
    found[{name, "ms"}] = f * error;
    found[{name, "ss"}] = f * error * static_cast<double>(count);
    found[{name, "p"}] = frostcal::numerics::f_upper_tail(f, static_cast<double>(count), error_df);
  };
  add("variety", 1, 2, plot, 10);
  add("nitro", 3, 3, within, 45);
  add("nitro:variety", 6, 6, within, 45);
  CHECK(published_table::compare_every("mixed_expected.csv", "oats_splitplot_anova", found, {1e-6, 0}) > 36);
}

TEST_CASE("REML: dyestuff, and its relative without batch variance", "[published][reml]") {
  const auto rows = published_table::read("mixed_dyestuff.csv");
  const Effect batch{"batch", groups_of(rows, {"batch"}), "batch_"};
  // The printed ratio comes from an optimizer that stopped early.
  CHECK(published_table::compare_every("mixed_expected.csv", "dyestuff_reml",
                                       fitted({intercept(rows.size())}, numbers(rows, "yield"), {batch}),
                                       {1e-6, 1e-5}) > 18);
  const Found boundary = fitted({intercept(rows.size())}, numbers(rows, "yield2"), {batch});
  CHECK(published_table::compare_every("mixed_expected.csv", "dyestuff2_reml_boundary", boundary, {1e-6, 0}) >
        6);
  CHECK(boundary.at({"batch", "variance"}) == 0);
}

TEST_CASE("REML: sleep study with a random intercept", "[published][reml]") {
  const auto rows = published_table::read("mixed_sleepstudy.csv");
  const Effect subject{"subject", groups_of(rows, {"subject"}), "subject_"};
  const Column days{"days", numbers(rows, "days")};
  CHECK(published_table::compare_every(
            "mixed_expected.csv", "sleepstudy_intercept_reml",
            fitted({intercept(rows.size()), days}, numbers(rows, "reaction"), {subject}), {1e-6, 0}) > 8);
}

// With no random effect at all REML is least squares.
TEST_CASE("REML tells what it cannot fit", "[reml]") {
  Eigen::MatrixXd x = Eigen::MatrixXd::Ones(6, 2);
  const Eigen::VectorXd y = Eigen::VectorXd::LinSpaced(6, 1, 2).array().square();
  const std::vector<std::vector<int>> groups{{0, 0, 1, 1, 2, 2}};
  CHECK(fit_reml(x, y, groups).status == RemlStatus::dependent_columns);
  CHECK(fit_reml(Eigen::MatrixXd::Identity(2, 2), Eigen::Vector2d(1, 2), {}).status == RemlStatus::no_data);
  const RemlFit plain = fit_reml(x.leftCols(1), y, {});
  CHECK(plain.status == RemlStatus::converged);
  CHECK_THAT(plain.coefficients[0], WithinRel(y.mean(), 1e-12));
  CHECK_THAT(plain.residual_variance, WithinRel((y.array() - y.mean()).square().sum() / 5, 1e-12));
  // A response that does not vary has no variances to find.
  const RemlFit flat = fit_reml(x.leftCols(1), Eigen::VectorXd::Constant(6, 4.0), groups);
  CHECK(flat.status == RemlStatus::not_converged);
  CHECK(flat.coefficients.allFinite());
}
