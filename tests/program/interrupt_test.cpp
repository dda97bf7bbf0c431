// Ctrl-C at any moment: the shop stays whole, and a calling shell sees that the program was interrupted.
#include <signal.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cerrno>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <thread>

#include "cli/terminal.hpp"
#include "grades/grade_file.hpp"
#include "grades/piece_file.hpp"
#include "support/program.hpp"
#include "support/sample_shop.hpp"
#include "support/terminal_program.hpp"
#include "support/text_file.hpp"
#include "table/settings_history.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
namespace fs = std::filesystem;

namespace {

constexpr int kInterrupted = 128 + SIGINT;

// Every file of the shop with its bytes; the lock file is no part of it.
std::map<std::string, std::string> contents(const fs::path& folder) {
  std::map<std::string, std::string> files;
  for (const fs::directory_entry& entry : fs::recursive_directory_iterator(folder)) {
    if (!entry.is_regular_file() || entry.path().filename() == ".lock") continue;
    files[entry.path().lexically_relative(folder).string()] = test::read_text(entry.path());
  }
  return files;
}

std::set<std::string> names(const std::map<std::string, std::string>& files) {
  std::set<std::string> names;
  for (const auto& [name, bytes] : files) names.insert(name);
  return names;
}

// So many graded glasses that a fit of them all takes seconds.
void add_graded_glasses(const test::SampleShop& sample, int count) {
  std::ofstream toml(shop::shop_file(sample.folder()), std::ios::app);
  for (int i = 2; i <= count; ++i) {
    toml << "\n[[glass]]\nname = \"glass-" << i << "\"\nfamily = \"other\"\ncolour = \"clear\"\nvessel = \""
         << sample.grid().vessel << "\"\n";
  }
  toml.close();
  for (int i = 2; i <= count; ++i) {
    design::Grid grid = sample.grid();
    grid.number = i;
    grid.glass = "glass-" + std::to_string(i);
    grid.id = (i < 10 ? "000" : "00") + std::to_string(i) + "-" + grid.glass;
    design::write_grid(sample.shop(), grid);
    std::vector<grades::GradeRow> rows;
    for (const design::Swatch& swatch : grid.swatches) {
      grades::GradeRow row;
      row.swatch = swatch.id;
      const double dose = swatch.setting.power_pct / swatch.setting.speed_pct;
      row.frost = dose < 0.5 ? 2 : dose < 0.8 ? 3 : 5;
      row.chipping = dose > 3 ? 2 : 0;
      row.grader = "Ann";
      row.graded_at = "2026-11-25T11:14:05Z";
      rows.push_back(row);
    }
    grades::append_grades(sample.shop(), grid, rows);
  }
}

bool wait_until(const std::function<bool()>& reached) {
  const auto last = std::chrono::steady_clock::now() + std::chrono::minutes(1);
  while (!reached()) {
    if (std::chrono::steady_clock::now() > last) return false;
    std::this_thread::sleep_for(std::chrono::microseconds(50));
  }
  return true;
}

}  // namespace

TEST_CASE("a long fit shows how far it is, on a terminal only, and Ctrl-C stops it", "[program][interrupt]") {
  const test::SampleShop sample;
  add_graded_glasses(sample, 60);
  const auto before = contents(sample.folder());
  const std::vector<std::string> words{"fit", "--shop", sample.option()};

  test::TerminalProgram seen(words);
  const termios modes = seen.modes();
  REQUIRE(seen.wait_for("Fitting glasses"));
  REQUIRE(seen.wait_for(" of 59"));
  seen.type("\x03");
  CHECK(seen.finish() == kInterrupted);
  CHECK(seen.shown().find('\x1b') == std::string::npos);  // no colour, no cursor movement
  const termios after = seen.modes();
  CHECK(after.c_lflag == modes.c_lflag);
  CHECK(after.c_iflag == modes.c_iflag);
  CHECK(after.c_oflag == modes.c_oflag);

  test::Program piped(words);
  std::this_thread::sleep_for(std::chrono::milliseconds(1600));
  piped.interrupt();
  const test::Outcome outcome = piped.finish();
  CHECK(outcome.status == kInterrupted);
  CHECK(outcome.err == "");
  CHECK(outcome.out == "");
  CHECK(contents(sample.folder()) == before);
}

TEST_CASE("Ctrl-C while a plan is written waits until it is whole", "[program][interrupt]") {
  const test::SampleShop sample;
  const fs::path folder = sample.folder() / "grids" / "0002-amber-jug";
  const auto before = contents(sample.folder());
  const std::set<std::string> whole{"burn.pdf", "grid.toml", "run.pdf", "swatches.csv"};
  int interrupted = 0;
  for (int round = 0; round < 10; ++round) {
    test::Program plan({"plan", "amber-jug", "--yes", "--shop", sample.option()});
    REQUIRE(wait_until([&] { return fs::exists(folder); }));
    plan.interrupt();
    interrupted += plan.finish().status == kInterrupted ? 1 : 0;
    CHECK(names(contents(folder)) == whole);
    CHECK(test::run_program({"check", "--shop", sample.option()}).status == 0);
    fs::remove_all(folder);
    CHECK(contents(sample.folder()) == before);
  }
  CHECK(interrupted > 0);
}

TEST_CASE("Ctrl-C before a plan is written leaves nothing of it", "[program][interrupt]") {
  const test::SampleShop sample;
  const auto before = contents(sample.folder());
  int interrupted = 0;
  for (int round = 0; round < 10; ++round) {
    test::Program plan({"plan", "amber-jug", "--compare", "--yes", "--shop", sample.option()});
    std::this_thread::sleep_for(std::chrono::milliseconds(4 * round));
    plan.interrupt();
    const test::Outcome outcome = plan.finish();
    interrupted += outcome.status == kInterrupted ? 1 : 0;
    CHECK((outcome.status == kInterrupted || outcome.status == 0));
    CHECK(contents(sample.folder()) == before);
  }
  CHECK(interrupted > 0);
}

TEST_CASE("Ctrl-C logs all pieces or none", "[program][interrupt]") {
  constexpr std::size_t kPieces = 100;
  const test::SampleShop sample;
  const fs::path file = grades::pieces_layout(sample.shop()).path;
  int interrupted = 0;
  for (int round = 0; round < 5; ++round) {
    test::Program log({"log", "amber-jug", "--good", "--by", "Ann", "--pieces", std::to_string(kPieces),
                       "--power", "60", "--speed", "40", "--dpi", "300", "--shop", sample.option()});
    REQUIRE(wait_until([&] { return fs::exists(file); }));
    log.interrupt();
    interrupted += log.finish().status == kInterrupted ? 1 : 0;
    CHECK(grades::read_pieces(sample.shop()).size() == kPieces);
    fs::remove(file);
  }
  CHECK(interrupted > 0);
}

TEST_CASE("Ctrl-C stops the fit by which log may settle a setting, once the pieces are logged",
          "[program][interrupt]") {
  constexpr std::size_t kPieces = 24;
  const test::SampleShop sample;
  add_graded_glasses(sample, 60);
  REQUIRE(test::run_program({"table", "adopt", "amber-jug", "--by", "Ann", "--power", "60", "--speed", "40",
                             "--dpi", "300", "--reason", "a test", "--shop", sample.option()})
              .status == 0);
  test::Program log({"log", "amber-jug", "--good", "--by", "Ann", "--pieces", std::to_string(kPieces),
                     "--shop", sample.option()});
  REQUIRE(log.read_lines(1));
  log.interrupt();
  const test::Outcome outcome = log.finish();
  CHECK(outcome.status == kInterrupted);
  CHECK_THAT(outcome.out, Contains("Logged 24 pieces"));
  CHECK(grades::read_pieces(sample.shop()).size() == kPieces);
  CHECK(table::read_history(sample.shop()).size() == 1);
}

TEST_CASE("Ctrl-C just before a read makes that read fail", "[program][interrupt]") {
  int ends[2];
  REQUIRE(::pipe(ends) == 0);
  const cli::InterruptWatch watch;
  ::raise(SIGINT);
  CHECK(watch.interrupted());
  std::thread late([&] {  // so that a read that goes on waiting is seen, not endless
    sigset_t all;
    ::sigfillset(&all);
    ::pthread_sigmask(SIG_BLOCK, &all, nullptr);
    std::this_thread::sleep_for(std::chrono::seconds(4));
    CHECK(::write(ends[1], "x", 1) == 1);
  });
  char byte = 0;
  const ssize_t got = ::read(ends[0], &byte, 1);
  const int error = errno;
  late.join();
  CHECK(got == -1);
  CHECK(error == EINTR);
  ::close(ends[0]);
  ::close(ends[1]);
}

TEST_CASE("Ctrl-C at the grading prompt keeps what was typed", "[program][interrupt]") {
  const test::SampleShop sample;
  test::TerminalProgram grade({"grade", "1", "--grader", "Ann", "--shop", sample.option()});
  const termios modes = grade.modes();
  grade.type("4 0\n");
  REQUIRE(grade.wait_for("A1: frost 4, chipping 0"));
  grade.type("3 1\n");
  REQUIRE(grade.wait_for("A2: frost 3, chipping 1"));
  grade.type("5 ");  // never sent
  grade.type("\x03");
  CHECK(grade.finish() == kInterrupted);
  CHECK_THAT(grade.shown(), Contains("2 of 120 graded by Ann; go on with: frostcal grade"));
  CHECK(grade.modes().c_lflag == modes.c_lflag);
  CHECK(grades::read_grades(sample.shop(), sample.grid()).size() == 2);
  CHECK(test::run_program({"check", "--shop", sample.option()}).status == 0);
}
