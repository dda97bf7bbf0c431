#include "bench/child_program.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <stdexcept>

namespace frostcal::bench {
namespace {

struct Started {
  pid_t pid = -1;
  int to = -1;
  int from = -1;
};

Started start(const std::vector<std::string>& arguments) {
  std::array<int, 2> input{};
  std::array<int, 2> output{};
  if (pipe(input.data()) != 0 || pipe(output.data()) != 0) throw std::runtime_error("no pipe");
  std::vector<char*> argv;
  for (const std::string& argument : arguments) argv.push_back(const_cast<char*>(argument.c_str()));
  argv.push_back(nullptr);
  const pid_t pid = fork();
  if (pid < 0) throw std::runtime_error("cannot fork");
  if (pid == 0) {
    dup2(input[0], 0);
    dup2(output[1], 1);
    for (const int end : {input[0], input[1], output[0], output[1]}) close(end);
    execv(argv[0], argv.data());
    _exit(127);
  }
  close(input[0]);
  close(output[1]);
  return {pid, input[1], output[0]};
}

}  // namespace

Finished run_program(const std::vector<std::string>& arguments) {
  const Started child = start(arguments);
  close(child.to);
  Finished finished;
  std::array<char, 65536> block{};
  ssize_t count = 0;
  while ((count = read(child.from, block.data(), block.size())) > 0) {
    finished.output.append(block.data(), static_cast<std::size_t>(count));
  }
  close(child.from);
  int status = 0;
  waitpid(child.pid, &status, 0);
  finished.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128;
  return finished;
}

ChildProgram::ChildProgram(const std::vector<std::string>& arguments) {
  const Started child = start(arguments);
  pid_ = child.pid;
  to_ = fdopen(child.to, "w");
  from_ = fdopen(child.from, "r");
}

ChildProgram::~ChildProgram() {
  if (to_ != nullptr) std::fclose(to_);
  if (from_ != nullptr) std::fclose(from_);
  if (pid_ > 0) waitpid(pid_, nullptr, 0);
}

std::string ChildProgram::ask(const std::string& line) {
  std::fputs((line + '\n').c_str(), to_);
  std::fflush(to_);
  std::string answer;
  for (int c = std::fgetc(from_); c != '\n'; c = std::fgetc(from_)) {
    if (c == EOF) throw std::runtime_error("the program that was asked has ended");
    answer.push_back(static_cast<char>(c));
  }
  return answer;
}

}  // namespace frostcal::bench
