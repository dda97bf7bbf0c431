// A glass that nobody has measured: the truth behind a simulated shop.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>

namespace frostcal::simulator {

enum class Kind {
  wide,            // a broad window between frost and chips
  narrow,          // chips start close above even frost
  chip_limited,    // a few specks even at the best setting
  band_limited,    // lines show unless the pitch is fine
  high_threshold,  // marks only near full power or at low speed
  low_threshold,   // marks at once; too much melts it
  melt_prone,      // too hot and the frost fires smooth again
  uneven_bottles   // bottles differ much in how they take the beam
};
inline constexpr int kKinds = 8;
std::string to_text(Kind kind);
std::optional<Kind> kind_named(const std::string& name);

/// Every figure is invented (no published frosting thresholds for bottle glass are known to us); the forms
/// are those of response.hpp. Grades below are on a continuous scale on which grade j reaches from j - 0.5 to
/// j + 0.5 for a grader without bias.
struct HiddenGlass {
  std::uint64_t seed = 0;
  Kind kind = Kind::wide;

  double spot_factor = 1;      // true spot over nominal spot
  double onset_index = 16000;  // peak index at which the beam's centre starts to mark
  double melt_ratio = 8;       // peak index over onset at which half of the frost fires smooth
  double melt_sharpness = 4;
  double halo_mm = 0.03;       // cracks beyond the marked line, both sides together
  double overlap_limit = 2.5;  // spot over pitch at which half of the frost is fired smooth by the next line
  double saturation_j_mm2 = 0.4;  // dose at which crack density has reached 1 - 1/e
  double densest_grade = 5.2;     // frost where cracks cover everything
  double banding_grades = 2;      // grades lost per unit of line ripple
  double haste_grades = 0.4;      // grades lost at 1000 mm/s to the source's rise time, as the speed squared

  double chip_j_mm2 = 2.4;  // dose, heated depth and peak ratio at which chips begin
  double chip_depth_mm = 0.20;
  double chip_ratio = 9;
  double chip_width = 0.2;   // how sharp these thresholds are, in ln units
  double chip_rate = 1.6;    // grades per width beyond the threshold
  double chip_floor = -0.6;  // chipping far below every threshold (under 0.5 is "none")

  double bottle_gain = 0.04;   // sd of ln(absorbed power) between bottles
  double bottle_frost = 0.15;  // sd, grades
  double bottle_chipping = 0.25;
  double day_gain = 0.03;  // sd of ln(delivered power) between grids
  double run_out = 0.01;   // amplitude of ln(power) round the bottle

  double frost_noise = 0.4;  // sd of one look, grades
  double chipping_noise = 0.4;
  double slip = 0.01;                                         // chance that a grade is written one off
  std::array<double, 5> frost_cuts{0.5, 1.5, 2.5, 3.5, 4.5};  // as this shop's grader sees them
  std::array<double, 3> chipping_cuts{0.5, 1.5, 2.5};
};

/// The glass of a seed. Without `kind`, seeds run through the kinds in turn (seed modulo 8).
HiddenGlass draw_glass(std::uint64_t seed, std::optional<Kind> kind = std::nullopt);

/// The same glass with a tighter window and a less steady hand: chips start at 3/4 of the dose, frost fires
/// smooth sooner, grading noise and bottle spread are a quarter larger. Asks what a strategy does when little
/// is good.
HiddenGlass tightened(HiddenGlass glass);

}  // namespace frostcal::simulator
