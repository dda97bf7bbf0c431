#include "simulator/random_stream.hpp"

#include <cmath>

namespace frostcal::simulator {
namespace {

std::uint64_t hashed(std::uint64_t seed, std::string_view key) {
  std::uint64_t hash = 0xcbf29ce484222325ULL;
  for (int byte = 0; byte < 8; ++byte) hash = (hash ^ ((seed >> (8 * byte)) & 0xff)) * 0x100000001b3ULL;
  for (const char c : key) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3ULL;
  return hash;
}

}  // namespace

RandomStream::RandomStream(std::uint64_t seed, std::string_view key) : engine_(hashed(seed, key)) {}

double RandomStream::between(double low, double high) {
  return low + (high - low) * uniform();
}

double RandomStream::log_normal(double median, double spread) {
  return median * std::exp(spread * normal());
}

}  // namespace frostcal::simulator
