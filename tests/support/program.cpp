#include "support/program.hpp"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdlib>
#include <stdexcept>

namespace frostcal::test {

namespace {

constexpr uid_t kNobody = 65534;

void close_end(int& end) {
  if (end >= 0) ::close(end);
  end = -1;
}

/// Reads what is there; false at the end.
bool drain(int& end, std::string& text) {
  std::array<char, 4096> block{};
  const ssize_t got = ::read(end, block.data(), block.size());
  if (got <= 0) {
    close_end(end);
    return false;
  }
  text.append(block.data(), static_cast<std::size_t>(got));
  return true;
}

}  // namespace

Program::Program(const std::vector<std::string>& arguments, bool as_nobody) {
  ::signal(SIGPIPE, SIG_IGN);
  int in[2];
  int out[2];
  int err[2];
  int started[2];  // closed by a successful exec
  if (::pipe2(in, O_CLOEXEC) != 0 || ::pipe2(out, O_CLOEXEC) != 0 || ::pipe2(err, O_CLOEXEC) != 0 ||
      ::pipe2(started, O_CLOEXEC) != 0) {
    throw std::runtime_error("no pipe");
  }
  std::vector<std::string> words{FROSTCAL_PROGRAM};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> pointers;
  for (std::string& word : words) pointers.push_back(word.data());
  pointers.push_back(nullptr);
  child_ = ::fork();
  if (child_ < 0) throw std::runtime_error("no child");
  if (child_ == 0) {
    ::dup2(in[0], 0);
    ::dup2(out[1], 1);
    ::dup2(err[1], 2);
    ::signal(SIGPIPE, SIG_DFL);
    if (as_nobody) ::setenv("LLVM_PROFILE_FILE", "/dev/null", 1);  // the counters' files are not nobody's
    if (as_nobody && ::geteuid() == 0 && (::setgid(kNobody) != 0 || ::setuid(kNobody) != 0)) ::_exit(126);
    ::execv(pointers[0], pointers.data());
    ::_exit(127);
  }
  ::close(in[0]);
  ::close(out[1]);
  ::close(err[1]);
  ::close(started[1]);
  char nothing = 0;
  while (::read(started[0], &nothing, 1) < 0 && errno == EINTR) {
  }
  ::close(started[0]);
  in_ = in[1];
  out_ = out[0];
  err_ = err[0];
}

Program::~Program() {
  if (child_ > 0) {
    ::kill(child_, SIGKILL);
    ::waitpid(child_, nullptr, 0);
  }
  close_end(in_);
  close_end(out_);
  close_end(err_);
}

void Program::type(const std::string& text) {
  if (in_ >= 0 && ::write(in_, text.data(), text.size()) < 0) close_end(in_);
}

void Program::end_input() {
  close_end(in_);
}

bool Program::read_lines(std::size_t count) {
  while (std::count(outcome_.out.begin(), outcome_.out.end(), '\n') < static_cast<std::ptrdiff_t>(count)) {
    if (out_ < 0 || !drain(out_, outcome_.out)) return false;
  }
  return true;
}

void Program::kill_now() {
  ::kill(child_, SIGKILL);
}

void Program::interrupt() {
  ::kill(child_, SIGINT);
}

std::string unwrapped(std::string text) {
  for (std::size_t at = 0; (at = text.find("\n    ", at)) != std::string::npos;) text.replace(at, 5, " ");
  return text;
}

Outcome Program::finish() {
  end_input();
  while (out_ >= 0 || err_ >= 0) {
    std::array<pollfd, 2> ends{{{out_, POLLIN, 0}, {err_, POLLIN, 0}}};
    if (::poll(ends.data(), ends.size(), -1) < 0) break;
    if (ends[0].revents != 0) drain(out_, outcome_.out);
    if (ends[1].revents != 0) drain(err_, outcome_.err);
  }
  int status = 0;
  ::waitpid(child_, &status, 0);
  child_ = -1;
  outcome_.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  outcome_.raw_err = outcome_.err;
  outcome_.err = unwrapped(outcome_.raw_err);
  return outcome_;
}

Outcome run_program(const std::vector<std::string>& arguments, const std::string& input, bool as_nobody) {
  Program program(arguments, as_nobody);
  program.type(input);
  return program.finish();
}

}  // namespace frostcal::test
