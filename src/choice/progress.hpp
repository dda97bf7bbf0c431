// How far a long computation has come, told to whoever waits.
#pragma once

#include <functional>

namespace frostcal::choice {

/// Called between two parts of the work with how many of `total` are done. May be empty. Must not throw.
using Progress = std::function<void(int done, int total)>;

}  // namespace frostcal::choice
