#include <catch2/catch.hpp>

#include "numerics/distributions.hpp"
#include "numerics/normal_tail.hpp"
#include "published/published_table.hpp"

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
namespace num = frostcal::numerics;

TEST_CASE("distribution functions agree with the test values of the GNU Scientific Library", "[published]") {
  int compared = 0;
  for (const auto& row : published_table::read("dist_gsl_cdf.csv")) {
    const std::string& name = row.at("function");
    const double x = std::stod(row.at("x"));
    const double a = row.at("df1").empty() ? 0 : std::stod(row.at("df1"));
    const double b = row.at("df2").empty() ? 0 : std::stod(row.at("df2"));
    const double expected = std::stod(row.at("value"));
    if (expected != 0 && expected < 1e-290) continue;  // below what double arithmetic promises
    INFO(name << ' ' << x << ' ' << a << ' ' << b);
    double found = 0;
    if (name == "ugaussian_P") found = num::normal_cdf(x);
    if (name == "ugaussian_Q") found = num::normal_cdf(-x);
    if (name == "tdist_Q") found = num::t_upper_tail(x, a);
    if (name == "fdist_P") found = num::f_cdf(x, a, b);
    if (name == "fdist_Q") found = num::f_upper_tail(x, a, b);
    CHECK_THAT(found, WithinRel(expected, 1e-9) || WithinAbs(expected, 1e-300));
    ++compared;
  }
  CHECK(compared > 200);
}

TEST_CASE("normal quantiles agree with R and with printed tables", "[published]") {
  int compared = 0;
  for (const auto& row : published_table::read("dist_quantiles_expected.csv")) {
    const double p = std::stod(row.at("quantity").substr(1));
    const bool computed = row.at("status") == "computed";
    const double expected = std::stod(row.at("value"));
    INFO(p << ' ' << row.at("source"));
    CHECK_THAT(num::normal_quantile(p),
               WithinAbs(expected, computed ? 1e-9 * std::abs(expected) + 1e-12
                                            : 1.01 * published_table::half_unit(row.at("value"))));
    ++compared;
  }
  CHECK(compared == 21);
}
