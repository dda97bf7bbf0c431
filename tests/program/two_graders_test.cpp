// Two people grade one grid: `fit` and its report say how they agree.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "support/in_process.hpp"
#include "support/program.hpp"
#include "support/rendered_page.hpp"
#include "support/temporary_folder.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using test::run_in_process;
namespace fs = std::filesystem;

namespace {}  // namespace

TEST_CASE("a report calls grades simulated by the simulator's own note and no other word",
          "[program][graders]") {
  const auto says_simulated = [](const std::string& note, const std::string& grader) {
    const test::SampleShop sample;
    const std::filesystem::path file = sample.folder() / "in.csv";
    test::write_text(file, "swatch,frost,chipping,note\nF7,4,0,\nF8,4,0," + note + "\nF9,3,0,\n");
    REQUIRE(run_in_process(sample, {"grade", "1", "--from", file.string(), "--grader", grader}).status == 0);
    const std::string report = (sample.folder() / "report.pdf").string();
    REQUIRE(run_in_process(sample, {"fit", "--report", report}).status <= 1);
    const std::string text = test::ask("pdftotext -layout FILE -", test::read_text(report)).output;
    REQUIRE_THAT(text, Contains("Evidence: grids 0001"));
    return text.find("grades simulated") != std::string::npos;
  };
  CHECK(says_simulated("simulated", "Ann"));
  CHECK_FALSE(says_simulated("not simulated: burned on the bench", "Ann"));
  CHECK_FALSE(says_simulated("", "Ann who simulated it"));
}

TEST_CASE("fit and its report compare two graders", "[program][graders]") {
  const test::TemporaryFolder folder;
  const auto run = [&](std::vector<std::string> words) {
    words.insert(words.end(), {"--shop", folder.path().string()});
    return test::run_program(words);
  };
  fs::copy(fs::path(FROSTCAL_SOURCE_DIR) / "grids", folder.path() / "grids", fs::copy_options::recursive);
  fs::copy(fs::path(FROSTCAL_SOURCE_DIR) / "results", folder.path() / "results", fs::copy_options::recursive);
  CHECK_THAT(run({"fit", "clear-cruet"}).out, !Contains("both graded"));

  // Bo gives what the first gave, but half a grade of frost more on the average.
  std::istringstream first(test::read_text(folder.path() / "results" / "0008-clear-cruet.csv"));
  std::string form = "swatch,frost,chipping\n";
  std::string line;
  std::getline(first, line);
  for (int i = 0; std::getline(first, line); ++i) {
    const std::size_t comma = line.find(',');
    const int frost = line[comma + 1] - '0';
    form += line.substr(0, comma) + ',' + std::to_string(std::min(5, frost + i % 2)) + ',' + line[comma + 3] +
            '\n';
  }
  std::ofstream(folder.path() / "bo.csv") << form;
  REQUIRE(run({"grade", "8", "--from", (folder.path() / "bo.csv").string(), "--grader", "Bo"}).status == 0);

  const fs::path report = folder.path() / "report.pdf";
  const test::Outcome fit = run({"fit", "clear-cruet", "--report", report.string()});
  CHECK(fit.status <= 1);
  CHECK_THAT(fit.out,
             Contains("Graders Bo and Simulated both graded 12 swatches; weighted kappa of frost 0.") &&
                 Contains("Simulated gives 0.") && Contains("less frost") &&
                 Contains("of the scatter about the surface"));
  const std::string text = test::ask("pdftotext -layout FILE - 2>/dev/null", test::read_text(report)).output;
  CHECK_THAT(text,
             Contains("How the graders agree") && Contains("Bo, Simulated") && Contains("kappa of chipping"));
}
