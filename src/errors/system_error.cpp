#include "errors/system_error.hpp"

#include <system_error>

namespace frostcal::errors {

SystemError::SystemError(std::string path, const std::string& action, int error_number,
                         const std::string& remedy)
    : std::runtime_error(path + ": cannot " + action + ": " + std::generic_category().message(error_number) +
                         (remedy.empty() ? "" : "; " + remedy)),
      path_(std::move(path)),
      error_number_(error_number) {}

}  // namespace frostcal::errors
