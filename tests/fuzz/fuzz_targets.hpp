// What the fuzzers run and the normal tests replay: a reader is given any bytes, and must either read them or
// refuse them with a UserError. Anything else (a crash, a Bug, another exception) escapes and is a finding.
#pragma once

#include <string>
#include <vector>

namespace frostcal::fuzz {

struct Target {
  const char* name;  // also the folder under corpus/
  void (*run)(const std::string& bytes);
};

const std::vector<Target>& targets();

}  // namespace frostcal::fuzz
