// A small random generator whose numbers are the same on every platform and library.
#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

namespace frostcal::numerics {

/// xoshiro256++ 1.0, seeded by SplitMix64 (D. Blackman and S. Vigna, "Scrambled linear pseudorandom number
/// generators", ACM Trans. Math. Softw. 47 (2021) article 36). Satisfies UniformRandomBitGenerator.
class RandomEngine {
 public:
  using result_type = std::uint64_t;
  explicit RandomEngine(std::uint64_t seed);

  std::uint64_t next();
  std::uint64_t operator()() { return next(); }
  static constexpr std::uint64_t min() { return 0; }
  static constexpr std::uint64_t max() { return ~std::uint64_t{0}; }

  /// Uniform in (0, 1): the centre of one of 2^52 cells, never 0 or 1.
  double uniform();
  /// Uniform in 0..n-1 without bias (rejection). n >= 1.
  std::uint64_t below(std::uint64_t n);
  /// All orders are equally likely (R. A. Fisher and F. Yates, as D. E. Knuth gives it; from memory).
  template <typename T>
  void shuffle(std::vector<T>& things) {
    for (std::size_t i = things.size(); i > 1; --i) std::swap(things[i - 1], things[below(i)]);
  }
  /// Standard normal by the inverse distribution function: one uniform, one normal, in order.
  double normal();

 private:
  std::uint64_t state_[4];
};

}  // namespace frostcal::numerics
