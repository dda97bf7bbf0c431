#include "sheet/palette.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "errors/bug.hpp"
#include "errors/user_error.hpp"

namespace frostcal::sheet {
namespace {

using Lab = std::array<double, 3>;

double linear(std::uint8_t level) {
  const double v = level / 255.0;
  return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
}

double lab_cube_root(double t) {
  constexpr double kDelta = 6.0 / 29.0;
  return t > kDelta * kDelta * kDelta ? std::cbrt(t) : t / (3 * kDelta * kDelta) + 4.0 / 29.0;
}

double distance(const Lab& a, const Lab& b) {
  return std::sqrt((a[0] - b[0]) * (a[0] - b[0]) + (a[1] - b[1]) * (a[1] - b[1]) +
                   (a[2] - b[2]) * (a[2] - b[2]));
}

struct Candidate {
  Ink ink;
  Lab place;
  double nearest = 0;  // distance to the nearest fill taken so far
};

std::vector<Candidate> candidates() {
  constexpr int kFirst = 24;
  constexpr int kLast = 232;
  constexpr int kStep = 16;
  constexpr double kLeastChroma = 20;  // our choice: clearly not grey
  constexpr double kMostChroma = 55;   // muted, so that no fill is a primary
  constexpr double kLeastLightness = 25;
  constexpr double kMostLightness = 82;  // clearly seen on white paper
  std::vector<Candidate> result;
  for (int red = kFirst; red <= kLast; red += kStep)
    for (int green = kFirst; green <= kLast; green += kStep)
      for (int blue = kFirst; blue <= kLast; blue += kStep) {
        const Ink ink{static_cast<std::uint8_t>(red), static_cast<std::uint8_t>(green),
                      static_cast<std::uint8_t>(blue)};
        const Lab place = lab(ink);
        const double chroma = std::hypot(place[1], place[2]);
        if (chroma < kLeastChroma || chroma > kMostChroma || place[0] < kLeastLightness ||
            place[0] > kMostLightness)
          continue;
        result.push_back({ink, place, std::min(distance(place, lab(kWhite)), distance(place, lab(kBlack)))});
      }
  return result;
}

}  // namespace

std::array<double, 3> lab(const Ink& ink) {
  const double r = linear(ink.red);
  const double g = linear(ink.green);
  const double b = linear(ink.blue);
  const double fx = lab_cube_root((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.95047);
  const double fy = lab_cube_root(0.2126 * r + 0.7152 * g + 0.0722 * b);
  const double fz = lab_cube_root((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.08883);
  return {116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)};
}

double colour_difference(const Ink& a, const Ink& b) {
  return distance(lab(a), lab(b));
}

std::vector<Ink> recipe_inks(int count) {
  FROSTCAL_ASSERT(count >= 1 && count <= 64, "number of fills outside 1 to 64");
  if (count == 1) return {kBlack};
  std::vector<Ink> inks;
  std::vector<Candidate> free = candidates();
  while (static_cast<int>(inks.size()) < count) {
    // A later candidate must be clearly better, so that rounding in the last digit cannot change the order.
    std::size_t best = 0;
    for (std::size_t i = 1; i < free.size(); ++i)
      if (free[i].nearest > free[best].nearest + 1e-9) best = i;
    inks.push_back(free[best].ink);
    const Lab taken = free[best].place;
    for (Candidate& candidate : free)
      candidate.nearest = std::min(candidate.nearest, distance(candidate.place, taken));
  }
  return inks;
}

Ink ink_from_text(const std::string& text) {
  unsigned value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data() + (text.empty() ? 0 : 1), end, value, 16);
  if (text.size() != 7 || text[0] != '#' || error != std::errc() || stop != end)
    throw errors::UserError(errors::Fault{{"grids/shop.toml", 0, 0, "fills"},
                                          errors::quoted(text),
                                          "a colour such as \"#1A2B3C\"",
                                          "write # and six hexadecimal digits"});
  return {static_cast<std::uint8_t>(value >> 16), static_cast<std::uint8_t>((value >> 8) & 255),
          static_cast<std::uint8_t>(value & 255)};
}

}  // namespace frostcal::sheet
