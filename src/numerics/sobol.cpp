#include "numerics/sobol.hpp"

#include <array>

#include "errors/bug.hpp"
#include "numerics/random_engine.hpp"

namespace frostcal::numerics {
namespace {

constexpr int kBits = 32;
using Directions = std::array<std::uint32_t, kBits>;

struct Primitive {
  int degree;
  std::uint32_t coefficients;  // of the primitive polynomial, without the leading and the constant one
  std::array<std::uint32_t, 5> initial;
};

// Dimension 2 onwards; dimension 1 is the van der Corput sequence.
constexpr std::array<Primitive, kSobolDimensions - 1> kJoeKuo{{{1, 0, {1}},
                                                               {2, 1, {1, 3}},
                                                               {3, 1, {1, 3, 1}},
                                                               {3, 2, {1, 1, 1}},
                                                               {4, 1, {1, 1, 3, 3}},
                                                               {4, 4, {1, 3, 5, 13}},
                                                               {5, 2, {1, 1, 5, 5, 17}},
                                                               {5, 4, {1, 1, 5, 5, 5}},
                                                               {5, 7, {1, 1, 7, 11, 19}}}};

Directions direction_numbers(int dimension) {
  Directions v{};
  if (dimension == 0) {
    for (int i = 0; i < kBits; ++i) v[i] = 1u << (kBits - 1 - i);
    return v;
  }
  const Primitive& p = kJoeKuo[dimension - 1];
  for (int i = 0; i < p.degree; ++i) v[i] = p.initial[i] << (kBits - 1 - i);
  for (int i = p.degree; i < kBits; ++i) {
    v[i] = v[i - p.degree] ^ (v[i - p.degree] >> p.degree);
    for (int k = 1; k < p.degree; ++k) {
      if ((p.coefficients >> (p.degree - 1 - k)) & 1u) v[i] ^= v[i - k];
    }
  }
  return v;
}

std::uint32_t parity(std::uint32_t bits) {
  for (int shift = 16; shift > 0; shift /= 2) bits ^= bits >> shift;
  return bits & 1u;
}

/// Output digit r is the parity of the input digits up to r under row r of a random unit lower triangle.
void scramble(Directions& v, RandomEngine& random) {
  std::array<std::uint32_t, kBits> rows{};
  for (int r = 0; r < kBits; ++r) {
    const std::uint32_t diagonal = 1u << (kBits - 1 - r);
    const std::uint32_t above = r == 0 ? 0u : ~0u << (kBits - r);
    rows[r] = diagonal | (static_cast<std::uint32_t>(random.next() >> 32) & above);
  }
  for (std::uint32_t& number : v) {
    std::uint32_t mixed = 0;
    for (int r = 0; r < kBits; ++r) mixed |= parity(rows[r] & number) << (kBits - 1 - r);
    number = mixed;
  }
}

}  // namespace

Eigen::MatrixXd sobol_points(int n, int dimension, std::optional<std::uint64_t> seed) {
  FROSTCAL_ASSERT(n >= 0 && dimension >= 1 && dimension <= kSobolDimensions, "sobol_points: shape");
  Eigen::MatrixXd points(n, dimension);
  RandomEngine random(seed.value_or(0));
  const double unit = 1.0 / 4294967296.0;
  for (int d = 0; d < dimension; ++d) {
    Directions v = direction_numbers(d);
    std::uint32_t x = 0;
    if (seed) {
      scramble(v, random);
      x = static_cast<std::uint32_t>(random.next() >> 32);
    }
    for (int i = 0; i < n; ++i) {
      points(i, d) = (static_cast<double>(x) + (seed ? 0.5 : 0.0)) * unit;
      int bit = 0;  // position of the lowest zero of i: the digit that changes in Gray code
      while ((static_cast<std::uint32_t>(i) >> bit) & 1u) ++bit;
      x ^= v[bit];
    }
  }
  return points;
}

}  // namespace frostcal::numerics
