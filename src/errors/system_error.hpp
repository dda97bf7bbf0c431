// The operating system refused: which path, what was being done, and why.
#pragma once

#include <stdexcept>
#include <string>

namespace frostcal::errors {

class SystemError : public std::runtime_error {
 public:
  /// action is a phrase such as "open for reading"; error_number is errno right after the failing call.
  /// remedy may be empty.
  SystemError(std::string path, const std::string& action, int error_number, const std::string& remedy = "");

  const std::string& path() const noexcept { return path_; }
  int error_number() const noexcept { return error_number_; }

 private:
  std::string path_;
  int error_number_;
};

}  // namespace frostcal::errors
