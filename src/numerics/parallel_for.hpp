// Independent pieces of work over the processor's cores.
#pragma once

#include <cstddef>
#include <functional>

namespace frostcal::numerics {

/// Calls work(0) ... work(count - 1), several at once where there are several cores; each must touch only
/// what is its own. Returns when all have ended; the exception of the lowest index that threw is thrown
/// again. A call from inside another's work runs one after the other. Results never depend on the number of
/// cores.
void parallel_for(std::size_t count, const std::function<void(std::size_t)>& work);

}  // namespace frostcal::numerics
