#include "report/colour_map.hpp"

#include <algorithm>
#include <cmath>

namespace frostcal::report {
namespace {
constexpr sheet::Ink kStops[] = {
    {0x00, 0x20, 0x4D}, {0x00, 0x2C, 0x69}, {0x06, 0x36, 0x6E}, {0x2D, 0x42, 0x6C}, {0x41, 0x4D, 0x6B},
    {0x52, 0x59, 0x6C}, {0x61, 0x64, 0x6F}, {0x6F, 0x70, 0x73}, {0x7D, 0x7C, 0x78}, {0x8B, 0x87, 0x79},
    {0x9B, 0x94, 0x77}, {0xAC, 0xA1, 0x74}, {0xBC, 0xAF, 0x6F}, {0xCE, 0xBC, 0x68}, {0xE0, 0xCB, 0x5E},
    {0xF2, 0xDA, 0x50}, {0xFF, 0xEA, 0x46}};
}

sheet::Ink cividis(double value) {
  const double place = std::clamp(value, 0.0, 1.0) * 16;
  const std::size_t below = std::min<std::size_t>(15, static_cast<std::size_t>(place));
  const double share = place - static_cast<double>(below);
  const auto mix = [share](std::uint8_t a, std::uint8_t b) {
    return static_cast<std::uint8_t>(std::lround(a + share * (b - a)));
  };
  const sheet::Ink& a = kStops[below];
  const sheet::Ink& b = kStops[below + 1];
  return {mix(a.red, b.red), mix(a.green, b.green), mix(a.blue, b.blue)};
}

}  // namespace frostcal::report
