#include "sheet/screening.hpp"

#include <cmath>
#include <complex>
#include <limits>
#include <numeric>

#include "errors/bug.hpp"
#include "numerics/pi.hpp"
#include "shop/setting.hpp"

namespace frostcal::sheet {
namespace {

struct Weight {
  int down;
  int right;
  int weight;
};

struct Kernel {
  std::vector<Weight> weights;
  int divisor;
};

const Kernel& kernel_of(Screen screen) {
  static const Kernel floyd_steinberg{{{0, 1, 7}, {1, -1, 3}, {1, 0, 5}, {1, 1, 1}}, 16};
  static const Kernel jarvis{{{0, 1, 7},
                              {0, 2, 5},
                              {1, -2, 3},
                              {1, -1, 5},
                              {1, 0, 7},
                              {1, 1, 5},
                              {1, 2, 3},
                              {2, -2, 1},
                              {2, -1, 3},
                              {2, 0, 5},
                              {2, 1, 3},
                              {2, 2, 1}},
                             48};
  static const Kernel stucki{{{0, 1, 8},
                              {0, 2, 4},
                              {1, -2, 2},
                              {1, -1, 4},
                              {1, 0, 8},
                              {1, 1, 4},
                              {1, 2, 2},
                              {2, -2, 1},
                              {2, -1, 2},
                              {2, 0, 4},
                              {2, 1, 2},
                              {2, 2, 1}},
                             42};
  if (screen == Screen::floyd_steinberg) return floyd_steinberg;
  return screen == Screen::stucki ? stucki : jarvis;
}

/// Bayer's matrix of side 8, by his recursion M(2n) = [4M, 4M + 2; 4M + 3, 4M + 1].
int bayer_index(int column, int row) {
  int index = 0;
  for (int bit = 0; bit < 3; ++bit) {
    const int right = (column >> bit) & 1;
    const int down = (row >> bit) & 1;
    const int quadrant = down == 0 ? (right == 0 ? 0 : 2) : (right == 0 ? 3 : 1);
    index = 4 * index + quadrant;
  }
  return index;
}

DotPattern ordered(double tone, int columns, int rows) {
  DotPattern pattern{columns, rows, {}};
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column)
      pattern.dots.push_back(tone > (bayer_index(column % 8, row % 8) + 0.5) / 64 ? 1 : 0);
  return pattern;
}

DotPattern diffused(const Kernel& kernel, double tone, int columns, int rows) {
  const std::size_t count = static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows);
  DotPattern pattern{columns, rows, std::vector<std::uint8_t>(count, 0)};
  std::vector<double> value(count, tone);
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column) {
      const std::size_t here = pattern.at(column, row);
      pattern.dots[here] = value[here] >= 0.5 ? 1 : 0;
      const double error = value[here] - pattern.dots[here];
      for (const Weight& weight : kernel.weights) {
        const int x = column + weight.right;
        const int y = row + weight.down;
        if (x < 0 || x >= columns || y >= rows) continue;
        value[pattern.at(x, y)] += error * weight.weight / kernel.divisor;
      }
    }
  return pattern;
}

/// |F|^2 at all frequencies of the pattern minus its mean, by rows and then by columns.
std::vector<double> power_spectrum(const DotPattern& pattern, double mean) {
  const int n = pattern.columns;
  const auto at = [&pattern](int row, int column) { return pattern.at(column, row); };
  std::vector<std::complex<double>> turn(static_cast<std::size_t>(n));
  for (int k = 0; k < n; ++k) turn[static_cast<std::size_t>(k)] = std::polar(1.0, -2 * numerics::kPi * k / n);
  std::vector<std::complex<double>> rows(pattern.dots.size());
  for (int row = 0; row < n; ++row)
    for (int u = 0; u < n; ++u)
      for (int x = 0; x < n; ++x)
        rows[at(row, u)] +=
            (pattern.dot(x, row) ? 1 - mean : -mean) * turn[static_cast<std::size_t>(u * x % n)];
  std::vector<double> power(pattern.dots.size());
  for (int v = 0; v < n; ++v)
    for (int u = 0; u < n; ++u) {
      std::complex<double> sum;
      for (int y = 0; y < n; ++y) sum += rows[at(y, u)] * turn[static_cast<std::size_t>(v * y % n)];
      power[at(v, u)] = std::norm(sum);
    }
  return power;
}

}  // namespace

std::optional<Screen> screen_named(const std::string& name) {
  const std::vector<std::string>& names = shop::drawn_screens();
  for (std::size_t i = 0; i < names.size(); ++i)
    if (names[i] == name) return static_cast<Screen>(i);
  return std::nullopt;
}

double DotPattern::tone() const {
  return static_cast<double>(std::accumulate(dots.begin(), dots.end(), 0L)) /
         static_cast<double>(dots.size());
}

DotPattern screened(Screen screen, double tone, int columns, int rows) {
  FROSTCAL_ASSERT(tone >= 0 && tone <= 1 && columns >= 1 && rows >= 1, "screened: tone or size");
  if (screen == Screen::bayer) return ordered(tone, columns, rows);
  return diffused(kernel_of(screen), tone, columns, rows);
}

DotPattern cut_from_large_art(Screen screen, double tone, int columns, int rows) {
  constexpr int kRunIn = 32;   // pixels until error diffusion has forgotten where it began
  constexpr int kOffsets = 8;  // each way, the side of Bayer's matrix
  const DotPattern field = screened(screen, tone, columns + 2 * kRunIn + kOffsets, rows + kRunIn + kOffsets);
  const double large = screen == Screen::bayer ? ordered(tone, 8, 8).tone() : tone;
  // Dots above and to the left of each corner of the field's pixels.
  const std::size_t width = static_cast<std::size_t>(field.columns) + 1;
  std::vector<long> before(width * (static_cast<std::size_t>(field.rows) + 1), 0);
  const auto corner = [&](int column, int row) -> long& {
    return before[static_cast<std::size_t>(row) * width + static_cast<std::size_t>(column)];
  };
  for (int row = 0; row < field.rows; ++row)
    for (int column = 0; column < field.columns; ++column)
      corner(column + 1, row + 1) = corner(column, row + 1) + corner(column + 1, row) - corner(column, row) +
                                    (field.dot(column, row) ? 1 : 0);
  int left = kRunIn;
  int top = kRunIn;
  double least = std::numeric_limits<double>::infinity();
  for (int y = kRunIn; y < kRunIn + kOffsets; ++y)
    for (int x = kRunIn; x < kRunIn + kOffsets; ++x) {
      const long dots =
          corner(x + columns, y + rows) - corner(x, y + rows) - corner(x + columns, y) + corner(x, y);
      const double off = std::fabs(static_cast<double>(dots) - large * columns * rows);
      if (off >= least) continue;
      least = off;
      left = x;
      top = y;
    }
  DotPattern cut{columns, rows, {}};
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column)
      cut.dots.push_back(field.dot(left + column, top + row) ? 1 : 0);
  return cut;
}

std::vector<SpectrumRing> radial_spectrum(const DotPattern& pattern) {
  FROSTCAL_ASSERT(pattern.columns == pattern.rows, "radial_spectrum: pattern not square");
  const double mean = pattern.tone();
  if (mean == 0 || mean == 1) return {};
  const int n = pattern.columns;
  const std::vector<double> power = power_spectrum(pattern, mean);
  std::vector<std::vector<double>> rings(static_cast<std::size_t>(n / 2 + 1));
  for (int v = 0; v < n; ++v)
    for (int u = 0; u < n; ++u) {
      const double fu = u <= n / 2 ? u : u - n;
      const double fv = v <= n / 2 ? v : v - n;
      const auto ring = static_cast<std::size_t>(std::floor(std::hypot(fu, fv) + 0.5));
      if (ring >= 1 && ring < rings.size())
        rings[ring].push_back(power[pattern.at(u, v)] / (n * n) / (mean * (1 - mean)));
    }
  std::vector<SpectrumRing> result;
  for (std::size_t ring = 1; ring < rings.size(); ++ring) {
    const auto count = static_cast<double>(rings[ring].size());
    const double average = std::accumulate(rings[ring].begin(), rings[ring].end(), 0.0) / count;
    double squares = 0;
    for (const double value : rings[ring]) squares += (value - average) * (value - average);
    // Below 1e-20 only rounding is left.
    const bool powerless = average < 1e-20;
    result.push_back({static_cast<int>(ring), static_cast<int>(count), powerless ? 0 : average,
                      powerless ? 0 : squares / (count - 1) / (average * average)});
  }
  return result;
}

double low_frequency_share(const DotPattern& pattern) {
  const double mean = pattern.tone();
  const double limit = std::sqrt(std::fmin(mean, 1 - mean)) / 2 * pattern.columns;
  double low = 0;
  double all = 0;
  for (const SpectrumRing& ring : radial_spectrum(pattern)) {
    all += ring.power * ring.samples;
    if (ring.ring < limit) low += ring.power * ring.samples;
  }
  return all > 0 ? low / all : 0;
}

}  // namespace frostcal::sheet
