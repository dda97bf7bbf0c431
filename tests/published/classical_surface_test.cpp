// Second-order response surfaces against R package rsm's vignettes, the NIST/SEMATECH handbook's CVD study,
// and values computed with base R. Every expected figure of the four cases' files is compared.
#include "surface/classical_surface.hpp"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <catch2/catch.hpp>
#include <cmath>

#include "published/published_table.hpp"

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using namespace frostcal::surface;
using Eigen::Index;

namespace {

using published_table::compare_every;
using published_table::Row;
using Found = std::map<std::pair<std::string, std::string>, double>;

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

const AnovaRow* find_row(const ClassicalFit& fit, const std::string& term) {
  const auto found =
      std::find_if(fit.anova.begin(), fit.anova.end(), [&](const AnovaRow& row) { return row.term == term; });
  return found == fit.anova.end() ? nullptr : &*found;
}

// What follows from a fit by a line of algebra, and is published: so the fit is compared with it.

Eigen::VectorXd steepest_ascent(const ClassicalFit& fit) {
  return fit.linear.normalized();
}

Eigen::VectorXd canonical_path(const CanonicalAnalysis& analysis, double distance) {
  return analysis.stationary_point + distance * analysis.eigenvectors.col(0);
}

// The stationary point with the curvatures under `threshold` set to zero (Lenth 2009, section 5).
Eigen::VectorXd ridge_centre(const ClassicalFit& fit, double threshold) {
  const CanonicalAnalysis analysis = canonical_analysis(fit);
  const Eigen::VectorXd slope = analysis.eigenvectors.transpose() * fit.linear;
  Eigen::VectorXd place = Eigen::VectorXd::Zero(slope.size());
  for (Index i = 0; i < place.size(); ++i) {
    if (std::abs(analysis.eigenvalues[i]) >= threshold) place[i] = -0.5 * slope[i] / analysis.eigenvalues[i];
  }
  return analysis.eigenvectors * place;
}

// Two-sided t interval at 95 %.
std::pair<double, double> interval(const ClassicalFit& fit, double value, double standard_error) {
  const double half =
      standard_error * boost::math::quantile(boost::math::students_t(fit.fit.residual_df), 0.975);
  return {value - half, value + half};
}

void add_terms(const ClassicalFit& fit, Found& found) {
  for (std::size_t i = 0; i < fit.terms.size(); ++i) {
    const Index at = static_cast<Index>(i);
    const TermTest test = term_test(fit, static_cast<int>(i));
    for (const bool capital : {false, true}) {
      std::string name = fit.terms[i];
      if (capital && name.rfind("block", 0) == 0) name[0] = 'B';
      found[{name, "coef"}] = fit.fit.coefficients[at];
      found[{name, "se"}] = fit.fit.standard_errors[at];
      found[{name, "t"}] = test.t;
      found[{name, "p"}] = test.p;
    }
  }
  for (Index i = 0; i < fit.fit.fitted.size(); ++i) {
    found[{"run" + std::to_string(i + 1), "fitted"}] = fit.fit.fitted[i];
    found[{"run" + std::to_string(i + 1), "leverage"}] = fit.fit.leverages[i];
  }
}

void add_anova(const ClassicalFit& fit, Found& found) {
  found[{"model", "sigma"}] = fit.fit.residual_sd;
  found[{"model", "r_squared"}] = fit.fit.r_squared;
  found[{"model", "adj_r_squared"}] = fit.fit.adjusted_r_squared;
  found[{"model", "df_residual"}] = fit.fit.residual_df;
  found[{"model", "F"}] = fit.fit.f_statistic;
  found[{"model", "F_p"}] = fit.fit.f_p_value;
  const AnovaRow& lack = *find_row(fit, "lack of fit");
  const AnovaRow& pure = *find_row(fit, "pure error");
  found[{"lack_of_fit", "F"}] = lack.f;
  found[{"lack_of_fit", "p"}] = lack.p;
  found[{"lack_of_fit", "df_lof"}] = lack.df;
  found[{"lack_of_fit", "df_pe"}] = pure.df;
  found[{"lack_of_fit", "ss_lof"}] = lack.ss;
  found[{"lack_of_fit", "ss_pe"}] = pure.ss;
  const std::pair<const char*, const char*> groups[] = {{"Block", "blocks"},
                                                        {"FO", "first order"},
                                                        {"TWI", "two-way"},
                                                        {"PQ", "squares"},
                                                        {"Residuals", "residual"}};
  for (const auto& [item, term] : groups) {
    const AnovaRow* row = find_row(fit, term);
    if (row == nullptr) continue;
    found[{item, "anova_ss"}] = row->ss;
    found[{item, "anova_df"}] = row->df;
    found[{item, "anova_F"}] = row->f;
  }
}

void add_canonical(const ClassicalFit& fit, Found& found) {
  const CanonicalAnalysis canonical = canonical_analysis(fit);
  if (!canonical.exists) return;
  for (Index i = 0; i < canonical.stationary_point.size(); ++i) {
    found[{"x" + std::to_string(i + 1), "stationary_point_coded"}] = canonical.stationary_point[i];
    found[{std::to_string(i + 1), "eigenvalue"}] = canonical.eigenvalues[i];
  }
  for (int block = 0; block < fit.blocks; ++block) {
    found[{"block" + std::to_string(block + 1), "yhat_at_stationary_point"}] =
        predict(fit, canonical.stationary_point, block).value;
  }
  const Prediction at = predict(fit, canonical.stationary_point);
  found[{"block1_stationary", "se_fit"}] = at.standard_error;
  const auto mean = interval(fit, at.value, at.standard_error);
  const auto next = interval(fit, at.value, std::hypot(at.standard_error, fit.fit.residual_sd));
  found[{"block1_stationary", "ci95_lower"}] = mean.first;
  found[{"block1_stationary", "ci95_upper"}] = mean.second;
  found[{"block1_stationary", "pi95_lower"}] = next.first;
  found[{"block1_stationary", "pi95_upper"}] = next.second;
}

// The sign of an eigenvector is free: computed and published ones are each turned towards ours.
void check_eigenvectors(const ClassicalFit& fit, const std::string& file, const std::string& name) {
  const CanonicalAnalysis canonical = canonical_analysis(fit);
  std::map<std::pair<std::string, Index>, std::vector<Row>> expected;
  for (const Row& row : published_table::read(file)) {
    if (row.at("case") != name || row.at("quantity") != "eigenvector") continue;
    expected[{row.at("status"), std::stoi(row.at("item").substr(1)) - 1}].push_back(row);
  }
  CHECK(expected.size() == 2 * static_cast<std::size_t>(fit.factors));
  for (const auto& [key, rows] : expected) {
    REQUIRE(rows.size() == static_cast<std::size_t>(fit.factors));
    Eigen::VectorXd vector(fit.factors);
    for (Index j = 0; j < fit.factors; ++j) {
      vector[j] = std::stod(rows[static_cast<std::size_t>(j)].at("value"));
    }
    const Eigen::VectorXd ours = canonical.eigenvectors.col(key.second);
    if (vector.dot(ours) < 0) vector = -vector;
    INFO(name << " eigenvector " << key.second + 1 << ' ' << key.first);
    CHECK((vector - ours).cwiseAbs().maxCoeff() < (key.first == "computed" ? 1e-9 : 5.1e-8));
  }
}

void add_natural(const Coding& coding, const ClassicalFit& fit, const std::vector<std::string>& names,
                 Found& found) {
  const Eigen::VectorXd natural = coding.natural(canonical_analysis(fit).stationary_point);
  for (std::size_t i = 0; i < names.size(); ++i) {
    found[{names[i], "stationary_point_natural"}] = natural[static_cast<Index>(i)];
  }
}

Found found_of(const ClassicalFit& fit) {
  Found found;
  add_terms(fit, found);
  add_anova(fit, found);
  add_canonical(fit, found);
  return found;
}

std::string short_number(double value) {
  std::string text = std::to_string(value);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

Coding coding_of(std::initializer_list<double> centre, std::initializer_list<double> half) {
  Coding coding;
  coding.centre = Eigen::Map<const Eigen::VectorXd>(centre.begin(), static_cast<Index>(centre.size()));
  coding.half_range = Eigen::Map<const Eigen::VectorXd>(half.begin(), static_cast<Index>(half.size()));
  return coding;
}

}  // namespace

TEST_CASE("ChemReact: first order on one block", "[published][classical]") {
  const auto rows = published_table::read("rsm_chemreact.csv");
  const ClassicalFit fit = fit_classical(
      data_of(only(rows, "Block", {"B1"}), {"x1", "x2"}, "Yield", "Block", {"B1"}), Order::first);
  Found found = found_of(fit);
  found[{"lack_of_fit", "p"}] = find_row(fit, "lack of fit")->p;
  const Coding coding = coding_of({85, 175}, {5, 5});
  const Eigen::VectorXd direction = steepest_ascent(fit);
  const Eigen::VectorXd step = coding.natural(direction) - coding.centre;
  for (Index i = 0; i < 2; ++i) {
    found[{"x" + std::to_string(i + 1), "steepest_ascent_unit_direction"}] = direction[i];
    found[{i == 0 ? "Time" : "Temp", "steepest_ascent_increment_natural_units"}] = step[i];
  }
  for (const double radius : {0.0, 0.5, 1.0}) {
    found[{"radius_" + short_number(radius), "steepest_yhat"}] = ridge_point(fit, radius).predicted;
  }
  CHECK(compare_every("rsm_expected.csv", "chemreact1_FO", found) == 45);
}

TEST_CASE("ChemReact: second order with blocks", "[published][classical]") {
  const auto rows = published_table::read("rsm_chemreact.csv");
  const ClassicalFit fit =
      fit_classical(data_of(rows, {"x1", "x2"}, "Yield", "Block", {"B1", "B2"}), Order::second);
  Found found = found_of(fit);
  const Coding coding = coding_of({85, 175}, {5, 5});
  add_natural(coding, fit, {"Time", "Temp"}, found);
  // One t is printed as 10.012 where 10.01255 is computed.
  CHECK(compare_every("rsm_expected.csv", "chemreact_SO", found, {1e-9, 6e-4}, {"eigenvector"}) > 100);
  check_eigenvectors(fit, "rsm_expected.csv", "chemreact_SO");
  CHECK(canonical_analysis(fit).kind == StationaryKind::maximum);

  // Coding from natural units gives the coded columns back.
  Eigen::MatrixXd natural(static_cast<Index>(rows.size()), 2);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    natural.row(static_cast<Index>(i)) << std::stod(rows[i].at("Time")), std::stod(rows[i].at("Temp"));
  }
  const Eigen::MatrixXd coded = coding.coded(natural);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    CHECK_THAT(coded(static_cast<Index>(i), 0), WithinAbs(std::stod(rows[i].at("x1")), 1e-3));
    CHECK_THAT(coded(static_cast<Index>(i), 1), WithinAbs(std::stod(rows[i].at("x2")), 1e-3));
  }
}

TEST_CASE("helicopters: four factors, a saddle, ridge maxima", "[published][classical]") {
  const auto rows = published_table::read("rsm_heli.csv");
  const ClassicalFit fit =
      fit_classical(data_of(rows, {"x1", "x2", "x3", "x4"}, "ave", "block", {"1", "2"}), Order::second);
  Found found = found_of(fit);
  const auto add_place = [&](const std::string& name, const Eigen::VectorXd& place) {
    for (Index i = 0; i < 4; ++i) found[{name + "_x" + std::to_string(i + 1), "coded"}] = place[i];
    found[{name, "yhat"}] = predict(fit, place).value;
  };
  for (const double radius : {0.5, 1.0, 2.0}) {
    add_place("ridge_max_radius_" + short_number(radius), ridge_point(fit, radius).coded);
  }
  const CanonicalAnalysis canonical = canonical_analysis(fit);
  const double turn = canonical.eigenvectors(0, 0) > 0 ? 1 : -1;
  add_place("canonical_path_dist_5", canonical_path(canonical, 5 * turn));
  add_place("canonical_path_dist_-5", canonical_path(canonical, -5 * turn));
  add_natural(coding_of({12.4, 2.52, 1.25, 2}, {0.6, 0.26, 0.25, 0.5}), fit, {"A", "R", "W", "L"}, found);
  CHECK(canonical.kind == StationaryKind::saddle);
  CHECK(compare_every("rsm_expected.csv", "heli_SO", found, {}, {"eigenvector"}) > 120);
  check_eigenvectors(fit, "rsm_expected.csv", "heli_SO");
}

TEST_CASE("CO data: a rising ridge", "[published][classical]") {
  const ClassicalFit fit = fit_classical(
      data_of(published_table::read("rsm_codata.csv"), {"x1", "x2"}, "y", "x1", {}), Order::second);
  Found found = found_of(fit);
  const Eigen::VectorXd centre = ridge_centre(fit, 0.2);
  found[{"x1", "ridge_centre_coded_drop_small_eigenvalue"}] = centre[0];
  found[{"x2", "ridge_centre_coded_drop_small_eigenvalue"}] = centre[1];
  // B is nearly singular.
  CHECK(compare_every("rsm_expected.csv", "codata_SO", found, {1e-7, 0}, {"eigenvector"}) > 25);
  check_eigenvectors(fit, "rsm_expected.csv", "codata_SO");
}

TEST_CASE("cake sequence: first order, two blocks, second order over three blocks",
          "[published][classical]") {
  const auto rows = published_table::read("rsm_cake.csv");
  const std::vector<std::string> x{"x1", "x2", "x3"};
  const ClassicalFit first =
      fit_classical(data_of(only(rows, "expt", {"e1"}), x, "rating", "block", {"0"}), Order::first);
  Found found = found_of(first);
  const Eigen::VectorXd direction = steepest_ascent(first);
  for (Index i = 0; i < 3; ++i) {
    const std::string factor = "x" + std::to_string(i + 1);
    found[{factor, "steepest_ascent_unit_direction"}] = direction[i];
    for (const double radius : {0.5, 1.0, 2.0, 5.0}) {
      const RidgePoint point = ridge_point(first, radius);
      found[{"radius_" + short_number(radius), factor}] = point.coded[i];
      found[{"radius_" + short_number(radius), "yhat"}] = point.predicted;
    }
  }
  CHECK(compare_every("rsm_cake_expected.csv", "cake_e1_FO", found) > 40);

  const ClassicalFit moved = fit_classical(
      data_of(only(rows, "expt", {"e3", "e4"}), x, "rating", "block", {"1", "2"}), Order::first);
  CHECK(compare_every("rsm_cake_expected.csv", "cake_e3e4_FO", found_of(moved)) > 15);

  const ClassicalFit second = fit_classical(
      data_of(only(rows, "expt", {"e3", "e4", "e5"}), x, "rating", "block", {"1", "2", "3"}), Order::second);
  found = found_of(second);
  for (const double radius : {0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0}) {
    const RidgePoint point = ridge_point(second, radius);
    const std::string name = "ridge_radius_" + short_number(radius);
    for (Index i = 0; i < 3; ++i) found[{name, "x" + std::to_string(i + 1)}] = point.coded[i];
    found[{name, "lagrange_mu"}] = point.multiplier;
    found[{name, "yhat_block1"}] = point.predicted;
  }
  add_natural(coding_of({1.25, 0.45, 0.25}, {0.1, 0.1, 0.1}), second, {"flour", "sugar", "butter"}, found);
  // Published ridge coordinates are good to 0.001: two of them are off by 0.65 of a last digit. B is nearly
  // singular.
  CHECK(compare_every("rsm_cake_expected.csv", "cake_SO", found, {1e-7, 6.6e-4}) > 90);
}

TEST_CASE("CVD study: uniformity and stress, full and reduced models", "[published][classical]") {
  const auto rows = published_table::read("nist_cvd.csv");
  const std::vector<std::string> coded{"x1_coded", "x2_coded"};
  const std::vector<std::string> natural{"pressure_torr", "h2_wf6_ratio"};
  const auto fit = [&](const std::vector<std::string>& x, const std::string& y,
                       const std::vector<ModelTerm>& model) {
    return fit_classical(data_of(rows, x, y, "run", {}), model);
  };
  const std::vector<ModelTerm> full = model_terms(2, Order::second);
  const std::vector<ModelTerm> interaction = model_terms(2, Order::two_way);
  const std::vector<ModelTerm> both_squares{{0, -1}, {1, -1}, {0, 0}, {1, 1}};
  const std::vector<ModelTerm> one_square{{0, -1}, {1, -1}, {0, 0}};
  const std::string file = "nist_cvd_expected.csv";
  CHECK(compare_every(file, "uniformity_full", found_of(fit(coded, "uniformity_pct", full))) > 30);
  CHECK(compare_every(file, "uniformity_reduced", found_of(fit(coded, "uniformity_pct", interaction))) > 25);
  CHECK(compare_every(file, "stress_full", found_of(fit(coded, "stress", full))) > 30);
  CHECK(compare_every(file, "stress_reduced4", found_of(fit(coded, "stress", both_squares))) > 25);
  CHECK(compare_every(file, "stress_reduced3", found_of(fit(coded, "stress", one_square))) > 25);
  CHECK(compare_every(file, "stress_reduced3_natural_units", found_of(fit(natural, "stress", one_square))) >
        25);
  const ClassicalFit saddle = fit(natural, "uniformity_pct", interaction);
  Found found = found_of(saddle);
  const Eigen::VectorXd point = canonical_analysis(saddle).stationary_point;
  found[{"x1", "stationary_point_saddle"}] = point[0];
  found[{"x2", "stationary_point_saddle"}] = point[1];
  // The saddle's ratio is printed as 10.5024 where 10.50235 is computed.
  CHECK(compare_every(file, "uniformity_reduced_natural_units", found, {1e-9, 5.3e-5}) > 25);
}
