// Every fault of every file of a shop, and the mending of those that need no guess.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "errors/user_error.hpp"

namespace frostcal::cli {

struct ShopCheck {
  std::vector<errors::Fault> faults;  // in the order of the files
  std::vector<errors::Fault> doubts;  // values that are taken, but look like slips
  std::vector<std::string> mended;    // what --repair did, a sentence each
  int files = 0;                      // looked at
};

/// Reads every file. With `repair` it first mends what can be mended without guessing: a row that was cut
/// while it was written, temporary files of a killed run. What a person wrote is never touched. Throws
/// SystemError when a repair is refused.
ShopCheck check_shop(const std::filesystem::path& folder, bool repair);

}  // namespace frostcal::cli
