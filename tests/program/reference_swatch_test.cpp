// The reference swatch through the program: planned alike, graded first, with the earlier one to hold beside
// it.
#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "support/program.hpp"
#include "support/temporary_folder.hpp"
#include "support/terminal_program.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
namespace fs = std::filesystem;

namespace {

struct Shop {
  Shop() { REQUIRE(test::run_program({"start", folder()}).status == 0); }
  std::string folder() const { return place.path().string() + "/shop"; }
  test::Outcome run(std::vector<std::string> words) const {
    words.insert(words.end(), {"--shop", folder()});
    return test::run_program(words);
  }
  std::string planned_reference(std::vector<std::string> more) const {
    std::vector<std::string> words{"plan", "amber-jug", "--swatches", "6", "--json"};
    words.insert(words.end(), more.begin(), more.end());
    const nlohmann::json plan = nlohmann::json::parse(run(words).out);
    return plan["reference"].is_null() ? "none" : plan["reference"].get<std::string>();
  }
  std::string greeting(const std::string& grid) const {
    test::TerminalProgram grading({"grade", grid, "--grader", "Ann", "--shop", folder()});
    REQUIRE(grading.wait_for("> "));
    grading.type("q\r");
    grading.finish();
    return grading.shown();
  }

  test::TemporaryFolder place;
};

}  // namespace

TEST_CASE("a reference swatch is planned alike at every grid and graded first", "[program][reference]") {
  const Shop shop;
  CHECK(shop.planned_reference({}) == "none");
  const std::string first = shop.planned_reference({"--reference"});
  const std::string second = shop.planned_reference({"--reference", "--seed", "2"});
  REQUIRE(first != "none");
  REQUIRE(second != "none");
  CHECK_THAT(shop.greeting("1"), !Contains("reference"));
  CHECK_THAT(shop.greeting("2"), Contains("The reference swatch comes first") &&
                                     Contains(first + " (reference)> ") && !Contains("Hold beside it"));
  CHECK_THAT(shop.greeting("3"), Contains(second + " (reference)> ") &&
                                     Contains("Hold beside it " + first + " on ") &&
                                     Contains("(grid 0002-amber-jug)."));
  CHECK(shop.run({"grade", "3", "--form", "-"})
            .out.find("swatch,bottle,frost,chipping,note\n" + second + ",") == 0);
  // An earlier grid that can't be read keeps nobody from grading this one.
  fs::remove(fs::path(shop.folder()) / "grids/0002-amber-jug/swatches.csv");
  CHECK_THAT(shop.greeting("3"), Contains(second + " (reference)> ") && !Contains("Hold beside it"));
}

TEST_CASE("any earlier swatch at the reference's setting is to be held beside it", "[program][reference]") {
  const Shop shop;
  const std::vector<std::string> one_setting{"--power", "50:50", "--speed", "30:30", "--dpi", "300"};
  std::vector<std::string> with_reference = one_setting;
  with_reference.push_back("--reference");
  CHECK(shop.planned_reference(one_setting) == "none");
  shop.planned_reference(with_reference);
  CHECK_THAT(shop.greeting("2"), Contains("Hold beside it A1 on amber-jug-1 (grid 0001-amber-jug)."));
}
