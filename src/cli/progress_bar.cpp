#include "cli/progress_bar.hpp"

#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <iostream>
#include <system_error>

#include "cli/terminal.hpp"

namespace frostcal::cli {

namespace {

using Clock = std::chrono::steady_clock;
constexpr std::chrono::milliseconds kSilence{1000};  // work that is done by then shows nothing
constexpr std::chrono::milliseconds kBetween{200};

std::string duration_text(double seconds) {
  const long whole = std::lround(seconds);
  if (whole < 100) return std::to_string(whole) + " s";
  return std::to_string((whole + 30) / 60) + " min";
}

}  // namespace

std::string progress_text(const std::string& task, int done, int total, double seconds, int columns) {
  constexpr int kMostCells = 30;
  std::string text = task;
  if (total > 0) {
    const std::string count = std::to_string(done) + " of " + std::to_string(total);
    const std::string left =
        done > 0 ? ", " + duration_text(seconds / done * std::max(0, total - done)) + " left" : "";
    const int room = columns - 1 - static_cast<int>(task.size() + count.size() + left.size()) - 4;
    const int cells = std::min(kMostCells, room);
    if (cells >= 5) {
      const int full = std::clamp(static_cast<int>(std::floor(1.0 * cells * done / total)), 0, cells);
      text += " [" + std::string(static_cast<std::size_t>(full), '#') +
              std::string(static_cast<std::size_t>(cells - full), '-') + ']';
    }
    text += ' ' + count + left;
  } else {
    text += ", " + duration_text(seconds);
  }
  text.resize(std::min(text.size(), static_cast<std::size_t>(std::max(1, columns - 1))));
  return text;
}

ProgressBar::ProgressBar(const Streams& streams, std::string task) : task_(std::move(task)) {
  if (&streams.err == &std::cerr && ::isatty(STDERR_FILENO) == 1) terminal_ = STDERR_FILENO;
  start();
}

ProgressBar::ProgressBar(int terminal, std::string task) : terminal_(terminal), task_(std::move(task)) {
  start();
}

ProgressBar::~ProgressBar() {
  if (!ticker_.joinable()) return;
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    end_ = true;
  }
  ended_.notify_all();
  ticker_.join();
  if (shown_ > 0) show("");
}

void ProgressBar::set_done(int done, int total) {
  const std::lock_guard<std::mutex> lock(mutex_);
  done_ = done;
  total_ = total;
}

void ProgressBar::start() {
  if (terminal_ < 0) return;
  try {
    ticker_ = std::thread([this] { run(); });
  } catch (const std::system_error&) {
    // No thread to be had: the work goes on without being shown.
  }
}

void ProgressBar::run() {
  const Clock::time_point began = Clock::now();
  std::unique_lock<std::mutex> lock(mutex_);
  for (std::chrono::milliseconds wait = kSilence; !ended_.wait_for(lock, wait, [this] { return end_; });
       wait = kBetween) {
    const double seconds = std::chrono::duration<double>(Clock::now() - began).count();
    show(progress_text(task_, done_, total_, seconds, columns_of(terminal_)));
  }
}

// Blanks overwrite what is left of a longer line: no control codes but the return to the line's start.
void ProgressBar::show(const std::string& line) {
  std::string bytes = '\r' + line;
  if (shown_ > line.size()) bytes.append(shown_ - line.size(), ' ');
  shown_ = line.size();
  if (line.empty()) bytes += '\r';
  const ssize_t written = ::write(terminal_, bytes.data(), bytes.size());
  static_cast<void>(written);  // a terminal that went away is no reason to stop
}

}  // namespace frostcal::cli
