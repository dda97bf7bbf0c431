// Sobol' low-discrepancy points, plain or scrambled by a seed.
// Direction numbers: S. Joe and F. Y. Kuo, "Constructing Sobol sequences with better two-dimensional
// projections", SIAM J. Sci. Comput. 30 (2008) 2635-2654, first ten dimensions of their recommended set.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <optional>

namespace frostcal::numerics {

inline constexpr int kSobolDimensions = 10;

/// The first n points, one a row, n x dimension, in [0, 1); in Gray-code order, starting at the origin when
/// no seed is given. With a seed each coordinate gets a random lower-triangular linear scramble and a digital
/// shift (J. Matousek, J. Complexity 14 (1998) 527-556), which keeps the (t, m, s)-net property and moves
/// every point off the origin; the coordinates are then the centres of cells of width 2^-32, so 0 < u < 1.
/// Throws errors::Bug unless n >= 0 and 1 <= dimension <= 10.
Eigen::MatrixXd sobol_points(int n, int dimension, std::optional<std::uint64_t> seed = std::nullopt);

}  // namespace frostcal::numerics
