#include "simulator/hidden_glass.hpp"

#include <cmath>

#include "simulator/random_stream.hpp"

namespace frostcal::simulator {
namespace {

constexpr std::array<const char*, kKinds> kKindNames{"wide",         "narrow",         "chip-limited",
                                                     "band-limited", "high-threshold", "low-threshold",
                                                     "melt-prone",   "uneven-bottles"};

// What all kinds share, before the kind bends it.
HiddenGlass drawn_basis(RandomStream& random) {
  HiddenGlass glass;
  // How much energy this glass wants altogether moves every threshold together; the rest bends the window's
  // form.
  const double appetite = random.log_normal(1.0, 0.30);
  glass.spot_factor = random.log_normal(1.0, 0.10);
  glass.onset_index = appetite * random.log_normal(16000, 0.15);
  glass.melt_ratio = random.log_normal(7.0, 0.15);
  glass.melt_sharpness = random.between(3.0, 6.0);
  glass.halo_mm = random.between(0.02, 0.06);
  glass.overlap_limit = random.between(2.4, 4.0);
  glass.saturation_j_mm2 = appetite * random.log_normal(0.40, 0.25);
  glass.densest_grade = random.between(5.0, 5.5);
  glass.banding_grades = random.between(1.0, 3.0);
  glass.haste_grades = random.between(0.2, 0.7);
  glass.chip_j_mm2 = appetite * random.log_normal(2.3, 0.20);
  glass.chip_depth_mm = std::sqrt(appetite) * random.log_normal(0.195, 0.12);
  glass.chip_ratio = random.log_normal(7.5, 0.15);
  glass.chip_width = random.between(0.12, 0.28);
  glass.chip_rate = random.between(1.3, 2.0);
  glass.chip_floor = random.between(-0.8, -0.4);
  glass.bottle_gain = random.between(0.02, 0.05);
  glass.bottle_frost = random.between(0.08, 0.22);
  glass.bottle_chipping = random.between(0.12, 0.32);
  glass.day_gain = random.between(0.01, 0.04);
  glass.run_out = random.between(0.0, 0.02);
  glass.frost_noise = random.between(0.28, 0.48);
  glass.chipping_noise = random.between(0.28, 0.45);
  return glass;
}

void bend(HiddenGlass& glass, RandomStream& random) {
  switch (glass.kind) {
    case Kind::wide:
      glass.chip_j_mm2 *= 1.5;
      glass.chip_depth_mm *= 1.2;
      break;
    case Kind::narrow:
      glass.chip_j_mm2 *= random.between(0.50, 0.60);
      glass.chip_depth_mm *= 0.9;
      glass.chip_ratio *= 0.8;
      glass.chip_width = random.between(0.07, 0.12);
      break;
    case Kind::chip_limited:
      glass.chip_j_mm2 *= 0.75;
      glass.chip_floor = random.between(-0.25, -0.1);
      glass.chip_width = random.between(0.18, 0.30);
      break;
    case Kind::band_limited:
      glass.banding_grades = random.between(6.0, 12.0);
      glass.overlap_limit = random.between(3.0, 4.0);
      break;
    case Kind::high_threshold:
      glass.onset_index *= 1.7;
      glass.melt_ratio *= 0.7;
      glass.chip_ratio *= 0.7;
      glass.chip_depth_mm *= 1.25;
      glass.chip_j_mm2 *= 1.2;
      break;
    case Kind::low_threshold:
      glass.onset_index *= 0.6;
      glass.saturation_j_mm2 *= 0.6;
      glass.chip_j_mm2 *= 0.55;
      glass.chip_depth_mm *= 0.8;
      break;
    case Kind::melt_prone:
      glass.melt_ratio = random.between(3.6, 4.6);
      glass.melt_sharpness = random.between(6.0, 9.0);
      break;
    case Kind::uneven_bottles:
      glass.bottle_gain = random.between(0.07, 0.11);
      glass.bottle_chipping = random.between(0.35, 0.5);
      break;
  }
}

}  // namespace

std::string to_text(Kind kind) {
  return kKindNames[static_cast<std::size_t>(kind)];
}

std::optional<Kind> kind_named(const std::string& name) {
  for (std::size_t i = 0; i < kKindNames.size(); ++i) {
    if (name == kKindNames[i]) return static_cast<Kind>(i);
  }
  return std::nullopt;
}

HiddenGlass draw_glass(std::uint64_t seed, std::optional<Kind> kind) {
  RandomStream random(seed, "hidden glass");
  HiddenGlass glass = drawn_basis(random);
  glass.seed = seed;
  glass.kind = kind ? *kind : static_cast<Kind>(seed % kKinds);
  bend(glass, random);
  const double frost_bias = 0.15 * random.normal();
  for (double& cut : glass.frost_cuts) cut += frost_bias + 0.10 * random.normal();
  const double chipping_bias = 0.10 * random.normal();
  for (double& cut : glass.chipping_cuts) cut += chipping_bias + 0.08 * random.normal();
  return glass;
}

HiddenGlass tightened(HiddenGlass glass) {
  glass.chip_j_mm2 *= 0.75;
  glass.chip_depth_mm *= 0.87;
  glass.chip_ratio *= 0.85;
  glass.melt_ratio *= 0.85;
  glass.overlap_limit *= 0.92;
  glass.frost_noise *= 1.25;
  glass.chipping_noise *= 1.25;
  glass.bottle_frost *= 1.25;
  glass.bottle_chipping *= 1.25;
  return glass;
}

}  // namespace frostcal::simulator
