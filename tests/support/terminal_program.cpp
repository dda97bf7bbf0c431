#include "support/terminal_program.hpp"

#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <stdexcept>

namespace frostcal::test {

TerminalProgram::TerminalProgram(const std::vector<std::string>& arguments) {
  std::vector<std::string> words{FROSTCAL_PROGRAM};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> pointers;
  for (std::string& word : words) pointers.push_back(word.data());
  pointers.push_back(nullptr);
  winsize size{};
  size.ws_row = 24;
  size.ws_col = 80;
  child_ = ::forkpty(&terminal_, nullptr, nullptr, &size);
  if (child_ < 0) throw std::runtime_error("no terminal");
  if (child_ == 0) {
    ::execv(pointers[0], pointers.data());
    ::_exit(127);
  }
}

TerminalProgram::~TerminalProgram() {
  if (child_ > 0) {
    ::kill(child_, SIGKILL);
    ::waitpid(child_, nullptr, 0);
  }
  if (terminal_ >= 0) ::close(terminal_);
}

void TerminalProgram::type(const std::string& text) {
  if (::write(terminal_, text.data(), text.size()) < 0) throw std::runtime_error("the terminal is gone");
}

bool TerminalProgram::wait_for(const std::string& text) {
  const auto last = std::chrono::steady_clock::now() + std::chrono::minutes(1);
  while (shown_.find(text) == std::string::npos) {
    if (std::chrono::steady_clock::now() > last || !read_some(1000)) return false;
  }
  return true;
}

termios TerminalProgram::modes() const {
  termios modes{};
  if (::tcgetattr(terminal_, &modes) != 0) throw std::runtime_error("the terminal is gone");
  return modes;
}

int TerminalProgram::finish() {
  const auto last = std::chrono::steady_clock::now() + std::chrono::minutes(1);
  while (read_some(1000)) {
    if (std::chrono::steady_clock::now() > last) throw std::runtime_error("the program does not end");
  }
  int status = 0;
  ::waitpid(child_, &status, 0);
  child_ = -1;
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

// False at the end: reading from a terminal whose program has gone is an error on Linux.
bool TerminalProgram::read_some(int milliseconds) {
  pollfd end{terminal_, POLLIN, 0};
  if (::poll(&end, 1, milliseconds) <= 0) return true;
  std::array<char, 4096> block{};
  const ssize_t got = ::read(terminal_, block.data(), block.size());
  if (got <= 0) return false;
  shown_.append(block.data(), static_cast<std::size_t>(got));
  return true;
}

}  // namespace frostcal::test
