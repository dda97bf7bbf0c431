// The line that long work shows.
#include "cli/progress_bar.hpp"

#include <pty.h>
#include <unistd.h>

#include <array>
#include <catch2/catch.hpp>
#include <chrono>
#include <sstream>
#include <thread>

#include "support/no_threads.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using cli::progress_text;

namespace {

// What a terminal was shown: everything written to its other end.
class Terminal {
 public:
  Terminal() {
    winsize size{};
    size.ws_col = 60;
    REQUIRE(::openpty(&ours_, &theirs_, nullptr, nullptr, &size) == 0);
  }
  ~Terminal() {
    ::close(ours_);
    if (theirs_ >= 0) ::close(theirs_);
  }
  Terminal(const Terminal&) = delete;
  Terminal& operator=(const Terminal&) = delete;

  int number() const { return theirs_; }

  std::string shown() {
    ::close(theirs_);
    theirs_ = -1;
    std::string text;
    std::array<char, 256> block{};
    for (ssize_t got = 0; (got = ::read(ours_, block.data(), block.size())) > 0;) {
      text.append(block.data(), static_cast<std::size_t>(got));
    }
    return text;
  }

 private:
  int ours_ = -1;
  int theirs_ = -1;
};

}  // namespace

TEST_CASE("the line tells what is done and how long the rest takes", "[cli][progress]") {
  CHECK(progress_text("Fitting", 0, 20, 1.2, 80) == "Fitting [------------------------------] 0 of 20");
  CHECK(progress_text("Fitting", 5, 20, 4.0, 80) ==
        "Fitting [#######-----------------------] 5 of 20, 12 s left");
  CHECK(progress_text("Fitting", 20, 20, 16.0, 80) ==
        "Fitting [##############################] 20 of 20, 0 s left");
  CHECK(progress_text("Fitting", 1, 3, 100.0, 80) ==
        "Fitting [##########--------------------] 1 of 3, 3 min left");
  CHECK(progress_text("Fitting", 0, 0, 3.4, 80) == "Fitting, 3 s");
}

TEST_CASE("the line stays within the terminal", "[cli][progress]") {
  for (int columns = 1; columns < 120; ++columns) {
    const std::string text = progress_text("Fitting glasses", 7, 200, 4.0, columns);
    CAPTURE(columns, text);
    CHECK(static_cast<int>(text.size()) <= std::max(1, columns - 1));
  }
  CHECK(progress_text("Fitting glasses", 7, 200, 4.0, 50) ==
        "Fitting glasses [----------] 7 of 200, 2 min left");
  CHECK(progress_text("Fitting glasses", 7, 200, 4.0, 41) == "Fitting glasses 7 of 200, 2 min left");
}

TEST_CASE("a bar appears after a second and goes away without a trace", "[cli][progress]") {
  Terminal quick;
  {
    cli::ProgressBar bar(quick.number(), "Fitting");
    bar.set_done(1, 2);
  }
  CHECK(quick.shown() == "");

  Terminal slow;
  {
    cli::ProgressBar bar(slow.number(), "Fitting");
    bar.set_done(1, 2);
    std::this_thread::sleep_for(std::chrono::milliseconds(1400));
  }
  const std::string shown = slow.shown();
  CHECK_THAT(shown, Contains("\rFitting [###############---------------] 1 of 2, 1 s left"));
  const std::size_t last = shown.rfind('\r', shown.size() - 2);
  CHECK(shown.back() == '\r');  // blanks over the line, and back to its start
  CHECK(shown.find_first_not_of(' ', last + 1) == shown.size() - 1);
}

TEST_CASE("no bar where standard error is not the terminal's", "[cli][progress]") {
  std::istringstream in;
  std::ostringstream out;
  std::ostringstream err;
  {
    const cli::ProgressBar bar({in, out, err}, "Fitting");
    std::this_thread::sleep_for(std::chrono::milliseconds(1300));
  }
  CHECK(out.str().empty());
  CHECK(err.str().empty());
}

TEST_CASE("where no thread can be started, work goes on without being shown", "[cli][progress]") {
  Terminal terminal;
  const test::NoThreads none;
  {
    cli::ProgressBar bar(terminal.number(), "Fitting");
    bar.set_done(1, 2);
  }
  CHECK(terminal.shown().empty());
}
