// Cumulative-link regression against published and independently computed fits. Sources: the column `source`
// of tests/published/data/ord_expected.csv, ord_ucla_expected.csv, bin_expected.csv and
// sep_ridge_expected.csv. Data: wine (Randall 1989), housing (Madsen 1976), cheese (McCullagh and Nelder 1989
// p. 175), artery (Peterson and Harrell 1990), ucla (shipped with statsmodels), spector (Spector and Mazzeo
// 1980).
#include <algorithm>
#include <catch2/catch.hpp>

#include "published_table.hpp"
#include "surface/cumulative_link.hpp"

using namespace frostcal::surface;
using published_table::compare;
using published_table::Row;

namespace {

using Found = std::map<std::pair<std::string, std::string>, double>;

struct Term {
  std::string name;
  std::string column;
  std::string level;  // empty: the column is numeric
};

struct Problem {
  std::string data;
  std::string response;
  std::vector<std::string> levels;  // of the response, in order
  std::vector<Term> terms;
  std::string weight;
};

const Problem kWine{"ord_wine.csv",
                    "rating",
                    {"1", "2", "3", "4", "5"},
                    {{"tempwarm", "temp", "warm"}, {"contactyes", "contact", "yes"}},
                    ""};
const Problem kHousing{"ord_housing.csv",
                       "Sat",
                       {"Low", "Medium", "High"},
                       {{"InflMedium", "Infl", "Medium"},
                        {"InflHigh", "Infl", "High"},
                        {"TypeApartment", "Type", "Apartment"},
                        {"TypeAtrium", "Type", "Atrium"},
                        {"TypeTerrace", "Type", "Terrace"},
                        {"ContHigh", "Cont", "High"}},
                       "Freq"};
const Problem kCheese{
    "ord_cheese.csv",
    "rating",
    {"1", "2", "3", "4", "5", "6", "7", "8", "9"},
    {{"additive1", "additive", "1"}, {"additive2", "additive", "2"}, {"additive3", "additive", "3"}},
    "freq"};
const Problem kArtery{
    "ord_artery.csv", "disease", {"0", "1", "2", "3", "4"}, {{"smokeryes", "smoker", "yes"}}, "freq"};
const Problem kUcla{"ord_ucla_apply.csv",
                    "apply",
                    {"unlikely", "somewhat likely", "very likely"},
                    {{"pared", "pared", ""}, {"public", "public", ""}, {"gpa", "gpa", ""}},
                    ""};

CumulativeLinkModel build(const Problem& problem, Link link) {
  const std::vector<Row> rows = published_table::read(problem.data);
  Eigen::MatrixXd design(static_cast<Eigen::Index>(rows.size()),
                         static_cast<Eigen::Index>(problem.terms.size()));
  std::vector<int> category;
  Eigen::VectorXd weight = Eigen::VectorXd::Ones(design.rows());
  for (Eigen::Index i = 0; i < design.rows(); ++i) {
    const Row& row = rows[i];
    for (Eigen::Index k = 0; k < design.cols(); ++k) {
      const Term& term = problem.terms[k];
      design(i, k) = term.level.empty()                  ? std::stod(row.at(term.column))
                     : row.at(term.column) == term.level ? 1
                                                         : 0;
    }
    const auto level = std::find(problem.levels.begin(), problem.levels.end(), row.at(problem.response));
    REQUIRE(level != problem.levels.end());
    category.push_back(static_cast<int>(level - problem.levels.begin()));
    if (!problem.weight.empty()) weight(i) = std::stod(row.at(problem.weight));
  }
  CumulativeLinkModel model =
      free_cutpoint_model(link, design, category, static_cast<int>(problem.levels.size()));
  model.weight = weight;
  return model;
}

std::string cutpoint_name(const Problem& problem, std::size_t j) {
  std::string name = problem.levels[j] + "|" + problem.levels[j + 1];
  for (char& c : name) c = c == ' ' ? '_' : c;
  return name;
}

std::vector<std::string> names_of(const Problem& problem) {
  std::vector<std::string> names;
  for (std::size_t j = 0; j + 1 < problem.levels.size(); ++j) names.push_back(cutpoint_name(problem, j));
  for (const Term& term : problem.terms) names.push_back(term.name);
  return names;
}

Found found_of(const PosteriorMode& mode, const std::vector<std::string>& names) {
  Found found;
  const Eigen::MatrixXd covariance = mode.factor.core_covariance();
  for (std::size_t i = 0; i < names.size(); ++i) {
    const Eigen::Index k = static_cast<Eigen::Index>(i);
    found[{names[i], "coef"}] = mode.theta(k);
    for (const char* se : {"se", "se_observed_info", "se_penalised_hessian"}) {
      found[{names[i], se}] = std::sqrt(covariance(k, k));
    }
  }
  found[{"model", "logLik"}] = found[{"model", "logLik_unpenalised"}] = mode.at_mode.log_likelihood;
  found[{"model", "penalised_objective"}] = mode.at_mode.value;
  return found;
}

int check_fit(const Problem& problem, Link link, const std::string& file, const std::string& name,
              double published_tolerance = 0) {
  const CumulativeLinkModel model = build(problem, link);
  NewtonOptions options;
  options.decrement_tolerance = 1e-18;
  const PosteriorMode mode = find_mode(model, empirical_start(model), options);
  CHECK(mode.status == NewtonStatus::converged);
  return compare(file, name, found_of(mode, names_of(problem)), published_tolerance);
}

}  // namespace

TEST_CASE("wine, housing, cheese, artery and admission fits agree with the literature",
          "[published][ordinal]") {
  CHECK(check_fit(kWine, Link::logit, "ord_expected.csv", "wine_logit") >= 13);
  CHECK(check_fit(kWine, Link::probit, "ord_expected.csv", "wine_probit") >= 13);
  // polr stops early: 3e-6 for its housing coefficients, 1e-3 for the admission data.
  CHECK(check_fit(kHousing, Link::logit, "ord_expected.csv", "housing_logit", 3e-6) >= 17);
  CHECK(check_fit(kHousing, Link::probit, "ord_expected.csv", "housing_probit", 3e-6) >= 17);
  CHECK(check_fit(kCheese, Link::logit, "ord_expected.csv", "cheese_logit_ref4") >= 23);
  CHECK(check_fit(kCheese, Link::probit, "ord_expected.csv", "cheese_probit_ref4") >= 23);
  CHECK(check_fit(kArtery, Link::logit, "ord_expected.csv", "artery_logit") >= 11);
  CHECK(check_fit(kUcla, Link::logit, "ord_ucla_expected.csv", "ucla_logit", 1e-3) >= 11);
  CHECK(check_fit(kUcla, Link::probit, "ord_ucla_expected.csv", "ucla_probit", 1e-3) >= 11);
}

TEST_CASE("gradient and Hessian away from the mode", "[published][ordinal]") {
  const CumulativeLinkModel model = build(kWine, Link::logit);
  const std::vector<std::string> names = names_of(kWine);
  for (const char* name : {"wine_logit_start", "wine_logit_point2"}) {
    Eigen::VectorXd theta(6);
    for (const Row& row : published_table::read("ord_expected.csv")) {
      if (row.at("case") != name || row.at("quantity") != "par") continue;
      for (int k = 0; k < 6; ++k) {
        if (names[k] == row.at("item")) theta(k) = std::stod(row.at("value"));
      }
    }
    const LogPosterior at = log_posterior(model, theta);
    Found found{{{"nll", "value"}, -at.log_likelihood}};
    for (int i = 0; i < 6; ++i) {
      found[{names[i], "nll_gradient"}] = -at.gradient(i);
      for (int j = 0; j < 6; ++j)
        found[{names[i] + ":" + names[j], "nll_hessian"}] = at.negative_hessian.dense({})(i, j);
    }
    CHECK(compare("ord_expected.csv", name, found) >= 13);
  }
}

TEST_CASE("structured cutpoints: equidistant and symmetric", "[published][ordinal]") {
  CumulativeLinkModel model = build(kWine, Link::logit);
  NewtonOptions options;
  options.decrement_tolerance = 1e-18;
  SECTION("equidistant") {
    model.cutpoint_map.resize(4, 2);
    model.cutpoint_map << 1, 0, 1, 1, 1, 2, 1, 3;
    model.precision = Eigen::VectorXd::Zero(4);
    const PosteriorMode mode = find_mode(model, Eigen::Vector4d(-1, 1, 0, 0), options);
    CHECK(compare("ord_expected.csv", "wine_logit_equidistant",
                  found_of(mode, {"threshold.1", "spacing", "tempwarm", "contactyes"})) >= 9);
  }
  SECTION("symmetric about the middle: central.1 and .2, and the distance of the outer ones") {
    model.cutpoint_map.resize(4, 3);
    model.cutpoint_map << 1, 0, -1, 1, 0, 0, 0, 1, 0, 0, 1, 1;
    model.precision = Eigen::VectorXd::Zero(5);
    Eigen::VectorXd start(5);
    start << -0.5, 0.5, 1, 0, 0;
    const PosteriorMode mode = find_mode(model, start, options);
    CHECK(compare("ord_expected.csv", "wine_logit_symmetric",
                  found_of(mode, {"central.1", "central.2", "spacing.1", "tempwarm", "contactyes"})) >= 11);
  }
}

TEST_CASE("binary regression on the Spector and Mazzeo data", "[published][ordinal]") {
  const Problem spector{"bin_spector.csv",
                        "grade",
                        {"0", "1"},
                        {{"gpa", "gpa", ""}, {"tuce", "tuce", ""}, {"psi", "psi", ""}},
                        ""};
  for (const Link link : {Link::logit, Link::probit}) {
    const CumulativeLinkModel model = build(spector, link);
    NewtonOptions options;
    options.decrement_tolerance = 1e-18;
    PosteriorMode mode = find_mode(model, empirical_start(model), options);
    mode.theta(0) = -mode.theta(0);  // the intercept is minus the cutpoint
    CHECK(compare("bin_expected.csv", link == Link::logit ? "spector_logit" : "spector_probit",
                  found_of(mode, {"intercept", "gpa", "tuce", "psi"}), 2e-6) >= 9);
  }
}

TEST_CASE("a Gaussian prior keeps separated data finite, at the known place", "[published][ordinal]") {
  NewtonOptions options;
  options.decrement_tolerance = 1e-18;
  const std::vector<Row> data = published_table::read("sep_data.csv");
  int compared = 0;
  for (const std::string set : {"A_symmetric", "B_asymmetric", "C_quasi"}) {
    for (const std::string sd : {"1", "2.5", "10"}) {
      for (const Link link : {Link::logit, Link::probit}) {
        std::vector<int> category;
        std::vector<double> x;
        for (const Row& row : data) {
          if (row.at("set") != set) continue;
          category.push_back(std::stoi(row.at("y")));
          x.push_back(std::stod(row.at("x")));
        }
        const Eigen::MatrixXd design =
            Eigen::Map<Eigen::VectorXd>(x.data(), static_cast<Eigen::Index>(x.size()));
        CumulativeLinkModel model = free_cutpoint_model(link, design, category, 2);
        model.precision(1) = std::pow(std::stod(sd), -2);
        PosteriorMode mode = find_mode(model, empirical_start(model), options);
        CHECK(mode.status == NewtonStatus::converged);
        mode.theta(0) = -mode.theta(0);
        compared += compare("sep_ridge_expected.csv",
                            "sep_" + set + (link == Link::logit ? "_logit" : "_probit") + "_prior_sd_" + sd,
                            found_of(mode, {"intercept", "x"}));
      }
    }
  }
  CHECK(compared == 9 * 6 + 5);
}

TEST_CASE("ridge values on the wine data, whole and with merged categories", "[published][ordinal]") {
  NewtonOptions options;
  options.decrement_tolerance = 1e-18;
  for (const char* sd : {"0.5", "1", "2.5"}) {
    CumulativeLinkModel model = build(kWine, Link::logit);
    model.precision.tail(2).setConstant(std::pow(std::stod(sd), -2));
    const PosteriorMode mode = find_mode(model, empirical_start(model), options);
    CHECK(compare("sep_ridge_expected.csv", std::string("wine_logit_prior_sd_") + sd,
                  found_of(mode, names_of(kWine))) == 14);
  }
  for (const char* sd : {"1", "2.5", "5"}) {
    CumulativeLinkModel wine = build(kWine, Link::logit);
    std::vector<int> merged;
    for (const int c : wine.category) merged.push_back(c == 0 ? 0 : c == 4 ? 2 : 1);
    CumulativeLinkModel model = free_cutpoint_model(Link::logit, wine.design.leftCols(1), merged, 3);
    model.precision(2) = std::pow(std::stod(sd), -2);
    const PosteriorMode mode = find_mode(model, empirical_start(model), options);
    CHECK(compare("sep_ridge_expected.csv", std::string("wine_comb3_temp_logit_prior_sd_") + sd,
                  found_of(mode, {"1|2-4", "2-4|5", "tempwarm"})) == 8);
  }
}

TEST_CASE("without a prior, separated data end with a status and finite numbers", "[published][ordinal]") {
  CumulativeLinkModel wine = build(kWine, Link::logit);
  std::vector<int> merged;
  for (const int c : wine.category) merged.push_back(c == 0 ? 0 : c == 4 ? 2 : 1);
  const CumulativeLinkModel model = free_cutpoint_model(Link::logit, wine.design.leftCols(1), merged, 3);
  const PosteriorMode mode = find_mode(model, empirical_start(model));
  CHECK(mode.theta.allFinite());
  CHECK(mode.at_mode.log_likelihood < -32.240 + 1e-3);  // the supremum, wine_separated_comb3
  CHECK(mode.at_mode.log_likelihood > -32.240 - 1e-2);
}

TEST_CASE("random judge effect by Laplace, at the published optimum", "[published][ordinal]") {
  const std::vector<Row> rows = published_table::read("ord_wine.csv");
  const CumulativeLinkModel fixed = build(kWine, Link::logit);
  std::map<std::string, double> at;
  for (const Row& row : published_table::read("ord_expected.csv")) {
    const bool wanted = row.at("quantity") == "coef" || row.at("quantity") == "sd";
    if (row.at("case") == "wine_clmm_judge_laplace" && wanted && row.at("status") == "computed") {
      at[row.at("item")] = std::stod(row.at("value"));
    }
  }
  const auto laplace = [&](double temp, double sd) {
    CumulativeLinkModel model;
    model.link = Link::logit;
    model.category = fixed.category;
    model.offset = fixed.design * Eigen::Vector2d(temp, at["contactyes"]);
    model.design = Eigen::MatrixXd::Zero(fixed.design.rows(), 9);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      model.design(static_cast<Eigen::Index>(i), std::stoi(rows[i].at("judge")) - 1) = sd;
    }
    model.cutpoint_offset = Eigen::Vector4d(at["1|2"], at["2|3"], at["3|4"], at["4|5"]);
    model.cutpoint_map.resize(4, 0);
    model.precision = Eigen::VectorXd::Ones(9);
    return find_mode(model, Eigen::VectorXd::Zero(9));
  };
  const double sd = at["judge"];
  const PosteriorMode mode = laplace(at["tempwarm"], sd);
  Found found{{{"model", "logLik"}, mode.log_evidence()}};
  const Eigen::MatrixXd covariance = mode.factor.core_covariance();
  for (int j = 0; j < 9; ++j) {
    const std::string judge = "judge" + std::to_string(j + 1);
    found[{judge, "conditional_mode"}] = sd * mode.theta(j);
    found[{judge, "conditional_variance"}] = sd * sd * covariance(j, j);
  }
  CHECK(compare("ord_expected.csv", "wine_clmm_judge_laplace", found, 3e-5) >= 19);
  const double step = 1e-3;
  CHECK(laplace(at["tempwarm"] + step, sd).log_evidence() < mode.log_evidence());
  CHECK(laplace(at["tempwarm"] - step, sd).log_evidence() < mode.log_evidence());
  CHECK(laplace(at["tempwarm"], sd + step).log_evidence() < mode.log_evidence());
  CHECK(laplace(at["tempwarm"], sd - step).log_evidence() < mode.log_evidence());
}
