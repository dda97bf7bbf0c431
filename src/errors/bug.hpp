// A broken promise in our own code. Active in every build.
#pragma once

#include <stdexcept>
#include <string>

namespace frostcal::errors {

class Bug : public std::logic_error {
 public:
  using std::logic_error::logic_error;
};

[[noreturn]] void report_bug(const char* file, int line, const std::string& message);

}  // namespace frostcal::errors

#define FROSTCAL_ASSERT(condition, message)                                        \
  do {                                                                             \
    if (!(condition)) ::frostcal::errors::report_bug(__FILE__, __LINE__, message); \
  } while (false)
