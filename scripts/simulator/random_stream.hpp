// Random numbers that do not depend on the order of asking.
#pragma once

#include <cstdint>
#include <string_view>

#include "numerics/random_engine.hpp"

namespace frostcal::simulator {

/// A stream of its own for each (seed, key): bottle "amber-jug-1" has the same nature whenever and in
/// whichever grid it is asked for. The engine is started from an FNV-1a hash of the key (Fowler, Noll & Vo;
/// offset and prime from memory).
class RandomStream {
 public:
  RandomStream(std::uint64_t seed, std::string_view key);

  double uniform() { return engine_.uniform(); }    // in (0, 1)
  double normal() { return engine_.normal(); }      // mean 0, sd 1
  double between(double low, double high);          // uniform
  double log_normal(double median, double spread);  // median * exp(spread * normal)

 private:
  numerics::RandomEngine engine_;
};

}  // namespace frostcal::simulator
