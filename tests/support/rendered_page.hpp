// Pages of a PDF as pixels, by renderers that are not ours, and what other programs say about a PDF.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

namespace frostcal::test {

enum class Renderer { poppler, mupdf };

/// Rows top to bottom, 3 bytes a pixel.
struct Raster {
  int columns = 0;
  int rows = 0;
  std::vector<std::uint8_t> bytes;

  std::array<int, 3> at(int column, int row) const;
  /// The pixel that covers a place in mm from the page's lower left corner.
  std::array<int, 3> at_mm(double x_mm, double y_mm, double dpi) const;
};

/// Without smoothing, so that a pixel is either inside a fill or not. Throws std::runtime_error when the
/// program is missing or fails.
Raster render(Renderer renderer, const std::string& pdf, int page, int dpi);

/// What a shell command prints, with "FILE" replaced by the name of a file that holds `pdf`.
struct Answer {
  int status = 0;
  std::string output;
};
Answer ask(const std::string& command, const std::string& pdf);

}  // namespace frostcal::test
