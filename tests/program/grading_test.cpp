// The real program: killed while it grades, two at once, in a folder it may not write.
#include <signal.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <random>
#include <sstream>
#include <thread>

#include "grades/grade_file.hpp"
#include "support/program.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
namespace fs = std::filesystem;

namespace {

std::string lines(std::size_t count) {
  std::string text;
  for (std::size_t i = 0; i < count; ++i) text += "4 1\n";
  return text;
}

std::size_t acknowledged(const std::string& out) {
  std::size_t count = 0;
  std::istringstream text(out);
  for (std::string line; std::getline(text, line) && !text.eof();) {
    count += line.find(": frost 4, chipping 1") != std::string::npos ? 1 : 0;
  }
  return count;
}

int rounds(int fallback) {
  const char* wanted = std::getenv("FROSTCAL_KILL_ROUNDS");
  return wanted == nullptr ? fallback : std::max(1, std::atoi(wanted));
}

std::size_t grades_of(const test::SampleShop& sample, const std::string& grader) {
  std::size_t count = 0;
  for (const grades::GradeRow& row : grades::read_grades(sample.shop(), sample.grid())) {
    count += row.grader == grader ? 1 : 0;
  }
  return count;
}

}  // namespace

// FROSTCAL_KILL_ROUNDS=2000 makes a long run of it.
TEST_CASE("a grade that was acknowledged survives kill -9", "[program][kill]") {
  std::mt19937 random(9);
  int killed = 0;
  std::size_t total = 0;
  std::optional<test::SampleShop> sample;
  const int wanted = rounds(60);
  for (int round = 0; round < wanted; ++round) {
    if (round % 20 == 0) sample.emplace();
    const std::string grader = "G" + std::to_string(round);
    test::Program program({"grade", "1", "--shop", sample->option(), "--grader", grader});
    program.type(lines(120));
    program.read_lines(1 + random() % 20);
    std::this_thread::sleep_for(std::chrono::microseconds(random() % 3000));
    program.kill_now();
    const test::Outcome outcome = program.finish();
    if (outcome.status == 128 + SIGKILL) ++killed;
    const std::size_t promised = acknowledged(outcome.out);
    const std::size_t kept = grades_of(*sample, grader);
    INFO("round " << round << ": " << promised << " acknowledged, " << kept << " kept");
    CHECK(kept >= promised);
    CHECK(kept <= promised + 1);
    total += promised;
    if (round % 10 == 9) {  // usable at once
      CHECK(test::run_program({"check", "--repair", "--shop", sample->option()}).status == 0);
    }
  }
  CHECK(killed > wanted / 2);
  CHECK(total > static_cast<std::size_t>(wanted));
}

TEST_CASE("two grade at once and nothing is lost or mixed", "[program]") {
  const test::SampleShop sample;
  test::Program ann({"grade", "1", "--shop", sample.option(), "--grader", "Ann"});
  test::Program bo({"grade", "1", "--shop", sample.option(), "--grader", "Bo"});
  ann.type(lines(120));
  bo.type(lines(120));
  const test::Outcome first = ann.finish();
  const test::Outcome second = bo.finish();
  CHECK(first.err == "");
  CHECK(second.err == "");
  CHECK(first.status == 0);
  CHECK(second.status == 0);
  CHECK(grades_of(sample, "Ann") == 120);
  CHECK(grades_of(sample, "Bo") == 120);
  CHECK(test::run_program({"check", "--shop", sample.option()}).status == 0);
}

TEST_CASE("piped lines stop at the first that is not understood", "[program]") {
  const test::SampleShop sample;
  const auto grade = [&](const std::string& input) {
    return test::run_program({"grade", "1", "--shop", sample.option(), "--grader", "Ann"}, input);
  };
  const test::Outcome refused = grade("4 0\n3 1\n9 9\n2 2\n");
  CHECK(refused.status == 2);
  CHECK(refused.err ==
        "standard input:3: found \"9 9\", expected frost 0 to 5, a blank, chipping 0 to 3, such as 4 0; ? "
        "helps\n"
        "2 lines were taken.\n");
  CHECK(grades_of(sample, "Ann") == 2);
  const test::Outcome unfinished = grade("2 2\n");
  CHECK(unfinished.status == 1);
  CHECK_THAT(unfinished.out,
             Contains("A3: frost 2, chipping 2\n") && Contains("3 of 120 graded by Ann; go on with"));
  CHECK(test::run_program({"grade", "1", "--shop", sample.option()}).status == 2);
}

TEST_CASE("a folder that may not be written is named, and nothing changes", "[program]") {
  const test::SampleShop sample;
  REQUIRE(test::run_program({"grade", "1", "--shop", sample.option(), "--grader", "Ann"}, "4 0\n").status ==
          1);
  const auto readable = fs::perms::owner_read | fs::perms::owner_exec | fs::perms::group_read |
                        fs::perms::group_exec | fs::perms::others_read | fs::perms::others_exec;
  fs::permissions(sample.folder(), readable);
  fs::permissions(sample.folder() / "results", readable);
  fs::permissions(sample.folder() / ".lock", fs::perms::owner_read | fs::perms::others_read);
  const test::Outcome outcome =
      test::run_program({"grade", "1", "--shop", sample.option(), "--grader", "Ann"}, "3 1\n", true);
  fs::permissions(sample.folder(), readable | fs::perms::owner_write);
  fs::permissions(sample.folder() / "results", readable | fs::perms::owner_write);
  if (outcome.status == 126 || outcome.status == 127) {
    WARN("not tested: an unprivileged child cannot run the program here");
    return;
  }
  CHECK(outcome.status == 2);
  CHECK(outcome.err ==
        sample.option() +
            "/.lock: cannot open for writing: Permission denied; the shop folder must be writable\n");
  CHECK(grades_of(sample, "Ann") == 1);
}

TEST_CASE("a full output is an error", "[program]") {
  const test::SampleShop sample;
  const std::string command = std::string(FROSTCAL_PROGRAM) + " grade 1 --form - --shop '" + sample.option() +
                              "' > /dev/full 2> /dev/null";
  if (!fs::exists("/dev/full")) {
    WARN("not tested: no /dev/full here");
    return;
  }
  const int status = std::system(command.c_str());
  CHECK(WEXITSTATUS(status) == 2);
  // What is recorded already must not be given again.
  const auto said = [&](const std::string& words) {
    const fs::path err = sample.folder() / "err.txt";
    const std::string line = std::string(FROSTCAL_PROGRAM) + ' ' + words + " --shop '" + sample.option() +
                             "' > /dev/full 2> '" + err.string() + "'";
    CHECK(WEXITSTATUS(std::system(line.c_str())) == 2);
    return test::read_text(err);
  };
  const std::string full = "standard output: cannot write the answer; is the disk full?";
  CHECK(said("check") == full + "\n");
  CHECK_THAT(said("log amber-jug --good --by Ann --power 40 --speed 30 --dpi 300"),
             Contains("what the command was to record is") && Contains("don't give it again."));
  CHECK_THAT(test::read_text(sample.folder() / "results" / "pieces.csv"), Contains("amber-jug,bench,40.00"));
}
