// Random numbers that come out the same on every platform and do not depend on the order of asking.
#pragma once

#include <cstdint>
#include <string_view>

namespace frostcal::simulator {

/// A stream of its own for each (seed, key): the effect of bottle "amber-jug-1" is the same whenever and in
/// whichever grid it is asked for. SplitMix64 (Steele, Lea & Flood, OOPSLA 2014; constants from memory),
/// started from an FNV-1a hash of the key (offset and prime from memory).
class RandomStream {
 public:
  RandomStream(std::uint64_t seed, std::string_view key);

  std::uint64_t bits();
  double uniform();                            // in (0, 1)
  double normal();                             // mean 0, sd 1; Box & Muller (1958)
  double between(double low, double high);     // uniform
  double log_normal(double median, double spread);  // median * exp(spread * normal)

 private:
  std::uint64_t state_;
};

}  // namespace frostcal::simulator
