#include "errors/bug.hpp"

namespace frostcal::errors {

void report_bug(const char* file, int line, const std::string& message) {
  std::string name = file;
  const std::size_t slash = name.rfind("src/");
  if (slash != std::string::npos) name.erase(0, slash);
  throw Bug(name + ':' + std::to_string(line) + ": " + message);
}

}  // namespace frostcal::errors
