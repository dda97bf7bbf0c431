#include "cli/terminal.hpp"

#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdlib>
#include <ctime>
#include <exception>
#include <iostream>
#include <thread>

#include "errors/ascii.hpp"
#include "textfile/number_text.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::cli {

namespace {

volatile sig_atomic_t interrupt_seen = 0;

// A signal that comes just before the read does not make it fail, so a second one is sent until the read is
// over.
void note_interrupt(int) {
  interrupt_seen = 1;
  ::alarm(1);
}

void set_handler(int signal, void (*handler)(int)) {
  struct sigaction action {};
  action.sa_handler = handler;  // no SA_RESTART: the read must fail
  ::sigaction(signal, &action, nullptr);
}

void leave_signals_alone() {
  ::alarm(0);
  set_handler(SIGALRM, SIG_DFL);
  set_handler(SIGINT, SIG_DFL);
}

}  // namespace

std::optional<std::int64_t> creation_time() {
  constexpr long long kLast = 253402300799;  // the year 9999
  const char* epoch = std::getenv("SOURCE_DATE_EPOCH");
  const auto seconds = epoch == nullptr ? std::nullopt : textfile::parse_integer(epoch);
  if (!seconds || *seconds < 0 || *seconds > kLast) return std::nullopt;
  return static_cast<std::int64_t>(*seconds);
}

std::int64_t now_seconds() {
  return creation_time().value_or(std::time(nullptr));
}

std::string now_text() {
  return textfile::format_utc_time(now_seconds());
}

std::string later_than(const std::string& time) {
  if (std::getenv("SOURCE_DATE_EPOCH") != nullptr) return std::max(now_text(), time);  // it stands still
  constexpr auto kStep = std::chrono::milliseconds(20);
  const std::int64_t then = textfile::utc_seconds(time).value_or(0);
  for (int step = 0; step < 60 && now_seconds() == then; ++step) std::this_thread::sleep_for(kStep);
  return textfile::format_utc_time(std::max(now_seconds(), then + 1));
}

bool is_utf8_terminal() {
  for (const char* name : {"LC_ALL", "LC_CTYPE", "LANG"}) {
    const char* value = std::getenv(name);
    if (value == nullptr || *value == '\0') continue;
    const std::string text = errors::to_lower(value);
    return text.find("utf-8") != std::string::npos || text.find("utf8") != std::string::npos;
  }
  return false;
}

int columns_of(int terminal) {
  winsize size{};
  return ::ioctl(terminal, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 ? size.ws_col : 80;
}

bool is_typed(const Streams& streams) {
  return &streams.in == &std::cin && ::isatty(STDIN_FILENO) == 1;
}

void drop_typed_ahead(const Streams& streams) {
  if (is_typed(streams)) ::tcflush(STDIN_FILENO, TCIFLUSH);
}

InterruptWatch::InterruptWatch() {
  interrupt_seen = 0;
  set_handler(SIGALRM, note_interrupt);
  set_handler(SIGINT, note_interrupt);
}

InterruptWatch::~InterruptWatch() {
  leave_signals_alone();
}

bool InterruptWatch::interrupted() const {
  return interrupt_seen != 0;
}

void InterruptWatch::die() const {
  leave_signals_alone();
  ::raise(SIGINT);
  std::_Exit(130);
}

namespace {

std::atomic<int> finished_delays{0};

}  // namespace

int InterruptDelay::finished() {
  return finished_delays;
}

InterruptDelay::InterruptDelay() {
  sigset_t delayed;
  ::sigemptyset(&delayed);
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) ::sigaddset(&delayed, signal);
  ::pthread_sigmask(SIG_BLOCK, &delayed, &before_);
}

InterruptDelay::~InterruptDelay() {
  if (std::uncaught_exceptions() == thrown_) ++finished_delays;
  ::pthread_sigmask(SIG_SETMASK, &before_, nullptr);
}

}  // namespace frostcal::cli
