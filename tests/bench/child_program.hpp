// Other programs, run from a benchmark.
#pragma once

#include <sys/types.h>

#include <cstdio>
#include <string>
#include <vector>

namespace frostcal::bench {

struct Finished {
  int status = 0;  // exit status
  std::string output;
};
/// Runs `arguments` (the first is the program), captures stdout; stderr is passed on.
Finished run_program(const std::vector<std::string>& arguments);

/// A program that answers each line with a line.
class ChildProgram {
 public:
  explicit ChildProgram(const std::vector<std::string>& arguments);
  ~ChildProgram();
  ChildProgram(const ChildProgram&) = delete;
  ChildProgram& operator=(const ChildProgram&) = delete;

  /// Throws std::runtime_error when the program has ended.
  std::string ask(const std::string& line);

 private:
  pid_t pid_ = -1;
  FILE* to_ = nullptr;
  FILE* from_ = nullptr;
};

}  // namespace frostcal::bench
