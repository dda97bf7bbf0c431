#include "simulator/random_stream.hpp"

#include <cmath>

namespace frostcal::simulator {
namespace {

constexpr double kTwoPi = 6.283185307179586;

std::uint64_t mixed(std::uint64_t z) {
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
  return z ^ (z >> 31);
}

std::uint64_t hashed(std::string_view key) {
  std::uint64_t hash = 0xcbf29ce484222325ULL;
  for (const char c : key) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3ULL;
  return hash;
}

}  // namespace

RandomStream::RandomStream(std::uint64_t seed, std::string_view key) : state_(mixed(seed) ^ hashed(key)) {}

std::uint64_t RandomStream::bits() {
  state_ += 0x9e3779b97f4a7c15ULL;
  return mixed(state_);
}

double RandomStream::uniform() { return (static_cast<double>(bits() >> 11) + 0.5) * 0x1.0p-53; }

double RandomStream::normal() {
  const double radius = std::sqrt(-2.0 * std::log(uniform()));
  return radius * std::cos(kTwoPi * uniform());
}

double RandomStream::between(double low, double high) { return low + (high - low) * uniform(); }

double RandomStream::log_normal(double median, double spread) { return median * std::exp(spread * normal()); }

}  // namespace frostcal::simulator
