// What only the running program can know: the clock, and whether a person is typing.
#pragma once

#include <signal.h>

#include <cstdint>
#include <exception>
#include <optional>
#include <string>

#include "cli/command.hpp"

namespace frostcal::cli {

/// The time for a PDF, in seconds since 1970 UTC: SOURCE_DATE_EPOCH when it is set to a whole number up to
/// the year 9999, else none, so that the same input gives the same bytes.
std::optional<std::int64_t> creation_time();

/// The same, or else the clock's.
std::int64_t now_seconds();
/// The same as 2026-11-25T11:14:05Z.
std::string now_text();

/// The same, but after `time` in whole seconds: waits for the clock where it is in that second, and gives the
/// second after `time` where the clock is behind. Where SOURCE_DATE_EPOCH holds the clock it may be `time`.
std::string later_than(const std::string& time);

/// True when LC_ALL, LC_CTYPE or LANG (the first that is set) asks for UTF-8.
bool is_utf8_terminal();

/// How wide a terminal is, in characters; 80 where it does not say.
int columns_of(int terminal);

/// True when streams.in is the program's standard input and a terminal, so that prompts make sense.
bool is_typed(const Streams& streams);

/// Throws away lines that were pasted but not read yet. Does nothing when input is not typed.
void drop_typed_ahead(const Streams& streams);

/// While it lives, Ctrl-C makes the read that waits, or the next one, fail instead of ending the program: at
/// once, or within two seconds when it came just before the read.
class InterruptWatch {
 public:
  InterruptWatch();
  ~InterruptWatch();
  InterruptWatch(const InterruptWatch&) = delete;
  InterruptWatch& operator=(const InterruptWatch&) = delete;
  bool interrupted() const;
  /// Ends the program as if Ctrl-C had not been caught, so that a calling shell sees it.
  [[noreturn]] void die() const;
};

/// While it lives, Ctrl-C, SIGTERM and a hang-up wait, and then act as usual: what is being written to the
/// shop is finished first. For the milliseconds of writing, never for computing or waiting for input.
class InterruptDelay {
 public:
  InterruptDelay();
  ~InterruptDelay();
  InterruptDelay(const InterruptDelay&) = delete;
  InterruptDelay& operator=(const InterruptDelay&) = delete;

  /// How many have ended, and not by an exception: whether anything was written.
  static int finished();

 private:
  sigset_t before_{};
  int thrown_ = std::uncaught_exceptions();
};

}  // namespace frostcal::cli
