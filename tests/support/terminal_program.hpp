// Runs the real frostcal program on a terminal of its own.
#pragma once

#include <sys/types.h>
#include <termios.h>

#include <string>
#include <vector>

#include "support/program.hpp"

namespace frostcal::test {

class TerminalProgram {
 public:
  /// Starts it with standard input, output and error on a new terminal, 80 columns wide.
  explicit TerminalProgram(const std::vector<std::string>& arguments);
  ~TerminalProgram();
  TerminalProgram(const TerminalProgram&) = delete;
  TerminalProgram& operator=(const TerminalProgram&) = delete;

  /// Types; "\x03" is Ctrl-C.
  void type(const std::string& text);
  /// Reads what is shown until `text` was shown. False when the program ended or a minute passed before.
  bool wait_for(const std::string& text);
  /// Everything that was shown so far, line ends as "\r\n".
  const std::string& shown() const { return shown_; }
  /// The terminal's modes now.
  termios modes() const;
  /// Reads to the end and waits: exit status, or 128 + the signal that ended it.
  int finish();

 private:
  bool read_some(int milliseconds);

  pid_t child_ = -1;
  int terminal_ = -1;
  std::string shown_;
};

}  // namespace frostcal::test
