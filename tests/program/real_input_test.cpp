// `frostcal fit` on data that nobody made for it: a published two-response study through scripts/, and
// published tasting data as they stand.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>

#include "published/published_table.hpp"
#include "support/program.hpp"
#include "support/temporary_folder.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

using Found = std::map<std::pair<std::string, std::string>, double>;

std::string data_file(const std::string& name) {
  return std::string(FROSTCAL_TEST_DATA) + '/' + name;
}

json fit(std::vector<std::string> words) {
  words.insert(words.begin(), "fit");
  words.emplace_back("--json");
  const test::Outcome outcome = test::run_program(words);
  INFO(outcome.err);
  REQUIRE(outcome.status == 0);
  return json::parse(outcome.out);
}

// The study as a shop folder.
class StudyShop {
 public:
  StudyShop() {
    const std::string command =
        std::string(FROSTCAL_PUBLISHED_STUDY) + " '" + data_file("nist_cvd.csv") + "' '" + option() + "'";
    REQUIRE(std::system(command.c_str()) == 0);
  }
  std::string option() const { return folder_.path().string(); }
  std::string results() const { return option() + "/results/0001-cvd-study.csv"; }
  std::string text() const {
    std::ifstream in(results());
    return {std::istreambuf_iterator<char>(in), {}};
  }
  void write(const std::string& text) const { std::ofstream(results()) << text; }
  test::Outcome fit(std::vector<std::string> words) const {
    words.insert(words.begin(), {"fit", "--shop", option()});
    return test::run_program(words);
  }

 private:
  test::TemporaryFolder folder_;
};

Found found_in(const json& analysis) {
  Found found;
  for (const json& term : analysis.at("terms")) {
    const std::string name = term.at("term");
    found[{name, "coef"}] = term.at("coefficient");
    found[{name, "se"}] = term.at("standard_error");
    found[{name, "t"}] = term.at("t");
    found[{name, "p"}] = term.at("p");
  }
  found[{"model", "sigma"}] = analysis.at("residual_sd");
  found[{"model", "r_squared"}] = analysis.at("r_squared");
  found[{"model", "adj_r_squared"}] = analysis.at("adjusted_r_squared");
  found[{"model", "F"}] = analysis.at("f");
  found[{"model", "F_p"}] = analysis.at("f_p");
  found[{"model", "df_residual"}] = analysis.at("residual_df");
  for (const json& row : analysis.at("anova")) {
    if (row.at("term") == "lack of fit") {
      found[{"lack_of_fit", "ss_lof"}] = row.at("ss");
      found[{"lack_of_fit", "df_lof"}] = row.at("df");
      found[{"lack_of_fit", "F"}] = row.at("f");
      found[{"lack_of_fit", "p"}] = row.at("p");
    } else if (row.at("term") == "pure error") {
      found[{"lack_of_fit", "ss_pe"}] = row.at("ss");
      found[{"lack_of_fit", "df_pe"}] = row.at("df");
    }
  }
  return found;
}

int compare_plain(const std::string& name, const std::vector<std::string>& words) {
  const json plain = fit(words).at("plain");
  CHECK(plain.at("converged") == true);
  CHECK(plain.at("separated") == false);
  Found found{{{"model", "logLik"}, plain.at("log_likelihood")}};
  for (const char* kind : {"coefficients", "cutpoints"}) {
    for (const json& term : plain.at(kind)) {
      found[{term.at("term"), "coef"}] = term.at("coefficient");
      found[{term.at("term"), "se"}] = term.at("standard_error");
    }
  }
  return published_table::compare("ord_expected.csv", name, found);
}

}  // namespace

TEST_CASE("fit --measured gives the published surfaces of the CVD study", "[program][real_input]") {
  const StudyShop shop;
  const std::pair<const char*, const char*> cases[] = {{"uniformity_pct", "uniformity_full"},
                                                       {"stress", "stress_full"}};
  for (const auto& [column, name] : cases) {
    const json root = fit({"cvd-study", "--measured", column, "--shop", shop.option()});
    const json& analysis = root.at("measured").at(0);
    CHECK(analysis.at("swatches") == 11);
    CHECK(analysis.at("left_out").empty());
    CHECK(analysis.at("factors").at(0) ==
          json{{"name", "power_pct"}, {"centre", 55.0}, {"half_range", 40.0}});
    CHECK(published_table::compare_every("nist_cvd_expected.csv", name, found_in(analysis)) > 30);
  }
  const test::Outcome words = shop.fit({"--measured", "stress"});
  CHECK(words.status == 0);
  CHECK_THAT(words.out, Contains("cvd-study on reactor: stress, 11 swatches") && Contains("0.73593") &&
                            Contains("R2 0.9918, adjusted 0.9835, predicted") &&
                            Contains("Stationary point (maximum)"));
}

TEST_CASE("fit --classical is the same analysis of the mean frost grade", "[program][real_input]") {
  const StudyShop shop;
  std::string rows = "swatch,frost,chipping,note,copy,grader,graded_at\n";
  const char* ids[] = {"A1", "A2", "A3", "A4", "B1", "B2", "B3", "B4", "C1", "C2", "C3"};
  const int frost[] = {1, 3, 2, 4, 0, 4, 2, 3, 1, 2, 4};
  for (int i = 0; i < 11; ++i) {
    for (const int more : {0, 1}) {  // a second grader sees one more, so the mean is half a grade higher
      const std::string grade = std::to_string(frost[i] + more);
      rows += std::string(ids[i]) + ',' + grade + ",0,," + grade + (more == 0 ? ",Ann" : ",Bo") +
              ",2026-11-25T11:14:05Z\n";
    }
  }
  shop.write(rows);
  const json classical = fit({"cvd-study", "--classical", "--shop", shop.option()}).at("classical").at(0);
  json measured = fit({"cvd-study", "--measured", "copy", "--shop", shop.option()}).at("measured").at(0);
  CHECK(measured.at("response") == "copy");
  measured["response"] = "mean frost grade";
  CHECK(classical == measured);
  // Settings 2, 6 and 11 are one: 3, 4, 4 and half a grade more.
  for (const json& row : classical.at("anova")) {
    if (row.at("term") != "pure error") continue;
    CHECK(row.at("df") == 2);
    CHECK_THAT(row.at("ss").get<double>(), Catch::Matchers::WithinRel(2.0 / 3.0, 1e-12));
  }
}

TEST_CASE("measured columns that cannot be fitted are refused with their place", "[program][bad_input]") {
  const StudyShop shop;
  const std::string good = shop.text();
  const std::string file = shop.results();
  test::Outcome ran = shop.fit({"--measured", "stres"});
  CHECK(ran.status == 2);
  CHECK(ran.err ==
        "results: found no column \"stres\" in any file, expected a column of numbers with that name beside "
        "the "
        "grades; did you mean stress?\n");
  std::string wrong = good;
  wrong.replace(wrong.find("8.04"), 4, "high");
  shop.write(wrong);
  ran = shop.fit({"--measured", "stress"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains(file + ":2:") && Contains("stress: found \"high\", expected a number"));
  CHECK(shop.fit({"--measured", "uniformity_pct"}).status == 0);  // a column that nobody asks for is not read
  wrong.replace(wrong.find("high"), 4, "nan");
  shop.write(wrong);
  CHECK(shop.fit({"--measured", "stress"}).status == 2);
  shop.write(good.substr(0, good.find("A3")));  // two runs
  ran = shop.fit({"cvd-study", "--measured", "stress"});
  CHECK(ran.status == 1);
  CHECK_THAT(ran.out, Contains("cannot tell what power, speed and dpi do"));
  ran = shop.fit({"--measured", "frost"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("for the mean frost grade: --classical"));
  for (const std::string own : {"Frost", "format", "FORMAT", "Graded_At", "swatch"}) {
    ran = shop.fit({"--measured", own});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err,
               Contains("--measured: found \"" + own + "\", expected the name of a column of numbers"));
  }
  CHECK(shop.fit({"--measured", "stress", "--map"}).status == 2);
  CHECK(shop.fit({"--link", "logit"}).status == 2);
}

TEST_CASE("fit --plain gives the published fits of the tasting data", "[program][real_input]") {
  const std::vector<std::string> wine{
      "--plain", data_file("ord_wine.csv"), "--grade", "rating", "--by", "temp,contact", "--link"};
  const std::vector<std::string> cheese{"--plain",     data_file("ord_cheese.csv"),
                                        "--grade",     "rating",
                                        "--by",        "additive",
                                        "--reference", "additive=4",
                                        "--weight",    "freq",
                                        "--link"};
  for (const std::string link : {"logit", "probit"}) {
    std::vector<std::string> words = wine;
    words.push_back(link);
    CHECK(compare_plain("wine_" + link, words) >= 13);
    words = cheese;
    words.push_back(link);
    CHECK(compare_plain("cheese_" + link + "_ref4", words) >= 23);
  }
}

TEST_CASE("plain tables that cannot be fitted", "[program][bad_input]") {
  const test::TemporaryFolder folder;
  const std::string file = (folder.path() / "in.csv").string();
  const auto run = [&](const std::string& text, const std::string& by = "x") {
    std::ofstream(file) << text;
    return test::run_program({"fit", "--plain", file, "--grade", "g", "--by", by});
  };
  CHECK(run("").status == 2);
  CHECK(run("g,x\n").err == file + ": g: found no graded row, expected at least two different grades\n");
  CHECK(run("g,x\n1,2\n1,3\n").err ==
        file + ": g: found one grade only, expected at least two different grades\n");
  CHECK(run("g,x\n1,2\n2,2\n").err ==
        file +
            ": x: found the same value in every row, expected at least two different ones; leave this column "
            "out\n");
  CHECK_THAT(run("g,x\nfour,2\n2,3\n").err, Contains(":2:1: g: found \"four\", expected a whole number"));
  CHECK_THAT(run("g,x\n1,\n2,3\n").err, Contains(":2:3: x: found an empty cell"));
  CHECK_THAT(run("g,x\n1,2\n", "y").err, Contains("y"));
  const test::Outcome parted = run("g,x\n1,1\n1,2\n1,3\n2,4\n2,5\n2,6\n");
  CHECK(parted.status == 1);
  CHECK_THAT(parted.out, Contains("These numbers mean little"));
  const test::Outcome twice = run("g,x,y\n1,1,2\n2,2,4\n1,3,6\n2,4,8\n", "x,y");
  CHECK(twice.status == 1);
  CHECK_THAT(twice.out, Contains("These numbers mean little"));
}
