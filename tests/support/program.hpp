// Runs the real frostcal program as a child.
#pragma once

#include <sys/types.h>

#include <string>
#include <vector>

namespace frostcal::test {

struct Outcome {
  int status = 0;  // exit status, or 128 + the signal that ended it
  std::string out;
  std::string err;      // lines that were broken for the terminal's width put together again
  std::string raw_err;  // as it was written
};

/// Messages with the lines that go on from one to the next put together again.
std::string unwrapped(std::string text);

class Program {
 public:
  /// Starts it and waits until it is itself, no longer a copy of the test; `as_nobody` gives up the rights of
  /// root first, where the test has them.
  explicit Program(const std::vector<std::string>& arguments, bool as_nobody = false);
  ~Program();
  Program(const Program&) = delete;
  Program& operator=(const Program&) = delete;

  /// Writes to its standard input; a program that has gone takes nothing, which is not an error.
  void type(const std::string& text);
  void end_input();
  /// Reads standard output until `count` line ends were seen in all, or the end. False at the end.
  bool read_lines(std::size_t count);
  void kill_now();
  /// What Ctrl-C does to a program on a terminal.
  void interrupt();
  /// Ends the input, reads everything and waits.
  Outcome finish();

 private:
  pid_t child_ = -1;
  int in_ = -1;
  int out_ = -1;
  int err_ = -1;
  Outcome outcome_;
};

/// Runs it to its end.
Outcome run_program(const std::vector<std::string>& arguments, const std::string& input = "",
                    bool as_nobody = false);

}  // namespace frostcal::test
