#include "numerics/random_engine.hpp"

#include "numerics/normal_tail.hpp"

namespace frostcal::numerics {
namespace {

std::uint64_t rotate_left(std::uint64_t x, int k) {
  return (x << k) | (x >> (64 - k));
}

std::uint64_t split_mix(std::uint64_t& state) {
  state += 0x9e3779b97f4a7c15u;
  std::uint64_t z = state;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return z ^ (z >> 31);
}

}  // namespace

RandomEngine::RandomEngine(std::uint64_t seed) {
  for (std::uint64_t& word : state_) word = split_mix(seed);
}

std::uint64_t RandomEngine::next() {
  const std::uint64_t result = rotate_left(state_[0] + state_[3], 23) + state_[0];
  const std::uint64_t t = state_[1] << 17;
  state_[2] ^= state_[0];
  state_[3] ^= state_[1];
  state_[1] ^= state_[2];
  state_[0] ^= state_[3];
  state_[2] ^= t;
  state_[3] = rotate_left(state_[3], 45);
  return result;
}

double RandomEngine::uniform() {
  return (static_cast<double>(next() >> 12) + 0.5) * (1.0 / 4503599627370496.0);
}

std::uint64_t RandomEngine::below(std::uint64_t n) {
  const std::uint64_t limit = max() - max() % n;
  std::uint64_t x = next();
  while (x >= limit) x = next();
  return x % n;
}

double RandomEngine::normal() {
  return normal_quantile(uniform());
}

}  // namespace frostcal::numerics
