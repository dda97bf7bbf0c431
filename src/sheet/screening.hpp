// Turning an even tone into dots: error diffusion and ordered dither, and how visible the pattern will be.
//
// Floyd and Steinberg (1976), Proc. SID 17(2), 75; Jarvis, Judice and Ninke (1976), Comput. Graph. Image
// Process. 5, 13; Stucki (1981), IBM research report RZ1060; Bayer (1973), IEEE ICC, 26-11.
// Pixels are taken left to right, top to bottom; a dot is set when tone plus error is 0.5 or more; error that
// falls past the edge is dropped. Bayer: a dot where tone > (M + 0.5) / 64, M the 8 x 8 index matrix.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace frostcal::sheet {

/// In the order of shop::drawn_screens().
enum class Screen { floyd_steinberg, jarvis_judice_ninke, stucki, bayer };

/// One of shop::drawn_screens(); nothing for another name.
std::optional<Screen> screen_named(const std::string& name);

/// Rows top to bottom, 1 = burn.
struct DotPattern {
  int columns = 0;
  int rows = 0;
  std::vector<std::uint8_t> dots;
  std::size_t at(int column, int row) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
           static_cast<std::size_t>(column);
  }
  bool dot(int column, int row) const { return dots[at(column, row)] != 0; }
  /// Share of the pixels that burn, 0 to 1.
  double tone() const;
};

/// An even tone of 0 to 1 (share that burns). Throws Bug for a tone outside that or a size below 1.
DotPattern screened(Screen screen, double tone, int columns, int rows);

/// What a piece of that size has when it is cut out of large art of that tone. A field screened by itself has
/// fewer dots along its top and sides (more in dark tones), since no error comes from beyond them, and an
/// ordered one has its matrix cut where it happens to be: so this is cut out of a larger field, where its
/// share of dots is nearest to that of large art.
DotPattern cut_from_large_art(Screen screen, double tone, int columns, int rows);

/// One annulus of the power spectrum. Ulichney (1988), Proc. IEEE 76, 56: the spectrum of (pattern - mean) is
/// divided by N^2 m (1 - m), m the pattern's mean; ring = floor(sqrt(u^2 + v^2) + 0.5) in cycles per pattern;
/// anisotropy = sample variance (n - 1) over squared mean, 0 where the ring has no power.
struct SpectrumRing {
  int ring = 0;
  int samples = 0;
  double power = 0;
  double anisotropy = 0;
};

/// Rings 1 to N / 2 of a square N x N pattern; empty for a pattern that is all dots or none.
std::vector<SpectrumRing> radial_spectrum(const DotPattern& pattern);

/// Share of the spectrum's power below half the principal frequency sqrt(min(m, 1 - m)) per pixel
/// (Ulichney 1988): 0 = the eye sees an even tone, towards 1 = clumps and worms. Rings only, to 1/2 per
/// pixel.
double low_frequency_share(const DotPattern& pattern);

}  // namespace frostcal::sheet
