// What happens after a first grading: later looks, two terminals under one name, a grader who withdraws, a
// bottle that broke, a grid that waits. By our own contract, no source.
#include <catch2/catch.hpp>
#include <filesystem>

#include "grades/grade_file.hpp"
#include "support/in_process.hpp"
#include "support/sample_shop.hpp"
#include "support/terminal_program.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using test::run_in_process;
namespace fs = std::filesystem;

namespace {

test::Outcome grade(const test::SampleShop& sample, const std::string& lines,
                    std::vector<std::string> more = {}) {
  std::vector<std::string> words{"grade", "1", "--shop", sample.option(), "--grader", "Ann"};
  words.insert(words.end(), more.begin(), more.end());
  return test::run_program(words, lines);
}

test::Outcome hand_in(const test::SampleShop& sample, const std::string& text,
                      const std::vector<std::string>& more = {}) {
  const fs::path file = sample.folder() / "in.csv";
  test::write_text(file, text);
  std::vector<std::string> words{"grade", "1", "--from", file.string()};
  words.insert(words.end(), more.begin(), more.end());
  return run_in_process(sample, words);
}

std::vector<grades::SwatchGrade> counted(const test::SampleShop& sample) {
  return grades::effective_grades(sample.grid(), grades::read_grades(sample.shop(), sample.grid()));
}

void say_broken(const test::SampleShop& sample, const std::string& bottles) {
  const fs::path file = shop::shop_file(sample.folder());
  test::write_text(file, test::read_text(file) + "broken = [" + bottles + "]\n");
}

}  // namespace

TEST_CASE("a next-day look is kept and goes on where it stopped", "[program][later_look]") {
  const test::SampleShop sample;
  REQUIRE(grade(sample, "4 0\n3 1\n5 0\n2 2\n").status == 1);
  const std::vector<grades::SwatchGrade> before = counted(sample);
  const test::Outcome first = grade(sample, "\n3 1\n", {"--again"});
  CHECK(first.status == 1);
  CHECK_THAT(first.out, Contains("A1: as it was\n") && Contains("2 of 4 looked at again by Ann; go on with"));
  const test::Outcome second = grade(sample, "1\nq\n", {"--again"});
  CHECK_THAT(second.out, Contains("A3: chipping 1\n") && Contains("3 of 4 looked at again by Ann"));
  CHECK(grade(sample, "\n\n", {"--again"}).status == 0);
  CHECK_THAT(grade(sample, "q\n", {"--again"}).out, Contains("0 of 4 looked at again by Ann"));
  const std::vector<grades::SwatchGrade> after = counted(sample);
  REQUIRE(after.size() == before.size());
  for (std::size_t i = 0; i < after.size(); ++i) {
    CHECK(after[i].frost == before[i].frost);
    CHECK(after[i].chipping == (after[i].swatch == "A3" ? 1 : before[i].chipping));
  }
  CHECK(run_in_process(sample, {"check"}).status == 0);
}

TEST_CASE("a fit is the same before and after looks that found all as it was", "[program][later_look]") {
  const test::SampleShop sample;
  std::string lines;
  for (int i = 0; i < 120; ++i) lines += std::to_string(i % 6) + ' ' + std::to_string(i % 4) + '\n';
  REQUIRE(grade(sample, lines).status == 0);
  const std::string before = run_in_process(sample, {"fit", "--json"}).out;
  CHECK_THAT(before, Contains("\"swatches\":120"));
  REQUIRE(grade(sample, std::string(120, '\n'), {"--again"}).status == 0);
  CHECK(grades::read_grades(sample.shop(), sample.grid()).size() == 240);
  CHECK(run_in_process(sample, {"fit", "--json"}).out == before);
}

TEST_CASE("two terminals under one name don't overwrite each other unasked", "[program][later_look]") {
  const test::SampleShop sample;
  test::TerminalProgram terminal({"grade", "1", "--shop", sample.option(), "--grader", "Ann"});
  REQUIRE(terminal.wait_for("A1> "));
  REQUIRE(grade(sample, "3 1\n").status == 1);  // A1, elsewhere
  terminal.type("4 0\r");
  REQUIRE(terminal.wait_for("meanwhile graded as Ann elsewhere, another terminal perhaps: A1 (3 1)"));
  REQUIRE(terminal.wait_for("A1 [3 1]> "));
  CHECK(counted(sample).front().frost == 3);
  terminal.type("s\r");
  REQUIRE(terminal.wait_for("A2> "));
  terminal.type("5 0\r");
  REQUIRE(terminal.wait_for("A3> "));
  REQUIRE(grade(sample, "2 2\n").status == 1);  // A3
  terminal.type("q\r");
  CHECK(terminal.finish() == 1);
  CHECK_THAT(terminal.shown(), Contains("3 of 120 graded by Ann"));
  REQUIRE(counted(sample).size() == 3);
}

TEST_CASE("a later look goes on without grades that another terminal withdraws", "[program][later_look]") {
  const test::SampleShop sample;
  REQUIRE(grade(sample, "4 0\n3 1\n").status == 1);
  test::TerminalProgram terminal({"grade", "1", "--shop", sample.option(), "--grader", "Ann", "--again"});
  REQUIRE(terminal.wait_for("A1 [4 0]> "));
  REQUIRE(grade(sample, "", {"--withdraw"}).status == 0);
  terminal.type("1\r");
  REQUIRE(terminal.wait_for("A1 (taken back), A2 (taken back)"));
  REQUIRE(terminal.wait_for("Nothing is left to look at again. Enter to finish> "));
  terminal.type("\r");
  CHECK(terminal.finish() == 1);
  CHECK_THAT(terminal.shown(), Contains("Nothing of Ann to look at again."));
  CHECK(counted(sample).empty());
}

TEST_CASE("piped lines stop where the same person grades elsewhere", "[program][later_look]") {
  const test::SampleShop sample;
  test::Program piped({"grade", "1", "--shop", sample.option(), "--grader", "Ann"});
  piped.type("4 0\n");
  REQUIRE(piped.read_lines(1));
  REQUIRE(grade(sample, "3 1\n").status == 1);  // A2: what follows here would belong to other swatches
  piped.type("2 2\n1 1\n");
  const test::Outcome outcome = piped.finish();
  CHECK(outcome.status == 2);
  CHECK_THAT(outcome.err, Contains("standard input:2: meanwhile graded as Ann elsewhere") &&
                              Contains("A2 (3 1)") && Contains("1 line was taken"));
  CHECK_THAT(outcome.out, Contains("2 of 120 graded by Ann"));
  CHECK(counted(sample).size() == 2);
}

TEST_CASE("the option --grader beside a file that names its graders is refused or said",
          "[program][later_look]") {
  const test::SampleShop sample;
  const std::string header = "swatch,frost,chipping,grader\n";
  const test::Outcome others = hand_in(sample, header + "A1,4,0,Ann\nA2,3,0,Cy\n", {"--grader", "Bob"});
  CHECK(others.status == 2);
  CHECK_THAT(others.err,
             Contains("in.csv:2: grader: found \"Ann\", and no row that names \"Bob\" or nobody") &&
                 Contains("leave out --grader, or correct the column"));
  CHECK(counted(sample).empty());
  const test::Outcome partly = hand_in(sample, header + "A1,4,0,Ann\nA2,3,0,\n", {"--grader", "Bob"});
  CHECK(partly.status == 0);
  CHECK_THAT(partly.err,
             Contains("Of the 2 grades the file itself names Ann for 1: they are recorded so, and "
                      "--grader Bob counts for the others."));
  CHECK_THAT(partly.out, Contains("1 of 120 graded by Ann, 1 of 120 graded by Bob"));
  const test::Outcome own = hand_in(sample, header + "A3,4,0,Bob\nA4,3,0,\n", {"--grader", "Bob"});
  CHECK(own.status == 0);
  CHECK(own.err.empty());
}

TEST_CASE("a grader withdraws, and the file keeps what was graded", "[program][later_look]") {
  const test::SampleShop sample;
  REQUIRE(hand_in(sample, "swatch,frost,chipping,graded_at\nA1,4,0,2026-05-01\nA2,3,1,2026-05-01\n",
                  {"--grader", "Ann"})
              .status == 0);
  REQUIRE(hand_in(sample, "swatch,frost,chipping\nA1,5,0\n", {"--grader", "Bo"}).status == 0);
  CHECK_THAT(run_in_process(sample, {"check"}).out, Contains("before grid 0001-amber-jug was planned"));
  const std::string before = test::read_text(sample.results());
  const test::Outcome gone = run_in_process(sample, {"grade", "1", "--withdraw", "--grader", "Ann"});
  CHECK(gone.status == 0);
  CHECK_THAT(gone.out, Contains("0001-amber-jug: withdrew 2 grades of Ann, which no longer count"));
  REQUIRE(counted(sample).size() == 1);
  CHECK(counted(sample).front().grader == "Bo");
  CHECK(test::read_text(sample.results()).rfind(before, 0) == 0);
  const test::Outcome checked = run_in_process(sample, {"check"});
  CHECK(checked.status == 0);
  CHECK_THAT(checked.out, !Contains("was planned"));
  const test::Outcome twice = run_in_process(sample, {"grade", "1", "--withdraw", "--grader", "Ann"});
  CHECK(twice.status == 2);
  CHECK_THAT(twice.err, Contains("found no grades of \"Ann\", expected one of Bo"));
  CHECK(run_in_process(sample, {"grade", "1", "--withdraw"}).status == 2);
  CHECK(run_in_process(sample, {"grade", "1", "--withdraw", "--again", "--grader", "Bo"}).status == 2);
}

TEST_CASE("grade without a grid, and plan, name the grids that wait", "[program][later_look]") {
  const test::SampleShop sample;
  const test::Outcome waiting = run_in_process(sample, {"grade"});
  CHECK(waiting.status == 1);
  CHECK_THAT(waiting.out,
             Contains("These grids wait for grades:\n  0001-amber-jug: 0 of 120 graded\nTo grade the first:  "
                      "frostcal grade 0001-amber-jug --shop "));
  CHECK_THAT(run_in_process(sample, {"plan", "amber-jug", "--dry-run"}).out,
             Contains("grid 0001-amber-jug waits for its grades"));
  CHECK_THAT(run_in_process(sample, {"plan", "amber-jug", "--dry-run", "--json"}).out,
             Contains("\"waiting\":[\"0001-amber-jug\"]"));
  REQUIRE(grade(sample, "4 0\n").status == 1);
  CHECK_THAT(run_in_process(sample, {"grade"}).out, Contains("  0001-amber-jug: 1 of 120 graded\n"));
  CHECK_THAT(run_in_process(sample, {"grade", "--grader", "Bo"}).out,
             Contains("  0001-amber-jug: 0 of 120 graded by Bo\n"));
  CHECK_THAT(run_in_process(sample, {"plan", "amber-jug", "--dry-run"}).out, !Contains("waits"));
  CHECK_THAT(run_in_process(sample, {"grade", "--again"}).err, Contains("GRID is missing"));
  std::string lines;
  for (int i = 0; i < 119; ++i) lines += "3 0\n";
  REQUIRE(grade(sample, lines).status == 0);
  const test::Outcome none = run_in_process(sample, {"grade"});
  CHECK(none.status == 0);
  CHECK(none.out == "No grid waits for grades.\n");
}

TEST_CASE("a used bottle that is gone can be left out", "[program][later_look]") {
  const test::SampleShop sample;
  for (int grid = 2; grid <= 3; ++grid) {
    REQUIRE(run_in_process(sample, {"plan", "amber-jug", "--design", "spread", "--swatches", "6"}).status ==
            0);
  }
  const std::vector<std::string> plan{"plan",       "amber-jug", "--design", "spread",
                                      "--swatches", "6",         "--dry-run"};
  const test::Outcome used = run_in_process(sample, plan);
  CHECK_THAT(used.out, Contains("amber-jug-2 (used)") && Contains("--new-bottle") && Contains("broken in"));
  say_broken(sample, "\"amber-jug-2\"");
  const test::Outcome without = run_in_process(sample, plan);
  CHECK_THAT(without.out, Contains("amber-jug-3 (used)") && !Contains("amber-jug-2"));
  CHECK(run_in_process(sample, {"check"}).status == 0);
}

TEST_CASE("a glass that shop.toml no longer has is said to be left out", "[program][later_look]") {
  const test::SampleShop sample;
  REQUIRE(grade(sample, "4 0\n").status == 1);
  const fs::path file = shop::shop_file(sample.folder());
  std::string text = test::read_text(file);
  const std::string name = "name = \"amber-jug\"";
  test::write_text(file, text.replace(text.find(name), name.size(), "name = \"amber-demijohn\""));
  CHECK_THAT(run_in_process(sample, {"fit"}).err,
             Contains("not shown are the grids of amber-jug, which shop.toml does not have"));
  CHECK(run_in_process(sample, {"check"}).status == 1);
}

TEST_CASE("a grid burned on another machine, and one that can't be graded, count as what they are",
          "[program][later_look]") {
  const test::SampleShop sample;
  const fs::path file = shop::shop_file(sample.folder());
  const std::string text = test::read_text(file);
  const std::size_t machine = text.find("[[machine]]");
  const std::size_t vessel = text.find("[[vessel]]");
  std::string barn = text.substr(machine, vessel - machine);
  barn.replace(barn.find("\"bench\""), 7, "\"barn\"");
  test::write_text(file, text.substr(0, vessel) + barn + text.substr(vessel));
  REQUIRE(grade(sample, "4 0\n3 1\nn power was 40\n- -\n").status == 1);
  const fs::path toml = design::grid_files(sample.shop(), sample.grid().id).grid_toml;
  std::string plan = test::read_text(toml);
  test::write_text(toml, plan.replace(plan.find("\"bench\""), 7, "\"barn\""));
  CHECK(run_in_process(sample, {"check"}).status == 0);
  CHECK_THAT(run_in_process(sample, {"fit"}).out, Contains("amber-jug on barn: 2 swatches on 1 bottle"));
}

TEST_CASE("check doubts a broken bottle that no grid knows", "[program][later_look]") {
  const test::SampleShop sample;
  say_broken(sample, "\"amber-jug-1\", \"amber-jug-11\"");
  const test::Outcome checked = run_in_process(sample, {"check"});
  CHECK(checked.status == 0);
  CHECK_THAT(checked.out,
             Contains("broken: found \"amber-jug-11\", expected a bottle of a grid of amber-jug; "
                      "did you mean amber-jug-1?") &&
                 !Contains("\"amber-jug-1\","));
  CHECK_THAT(run_in_process(sample, {"plan", "amber-jug", "--dry-run"}).out, Contains("amber-jug-2"));
}
