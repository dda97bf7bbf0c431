// How wide a line of text is, so that layout can be decided before any file is written.
//
// Advance widths of DejaVu Sans and DejaVu Sans Bold 2.37 in 1/2048 em, read from the fonts' own hmtx tables
// (Debian package fonts-dejavu-core): Basic Latin, Latin-1, Latin Extended-A and a few signs.
#pragma once

#include <string>
#include <vector>

#include "sheet/drawing.hpp"

namespace frostcal::sheet {

/// Width of one line in mm; size_mm is the em. A character outside the table counts as one em, which is at
/// least its width.
double text_width_mm(const std::string& text, Face face, double size_mm);

/// Valid UTF-8 that the page can show: control characters, malformed bytes and characters beyond U+FFFF
/// become '?'.
std::string printable(const std::string& text);

/// Lines no wider than width_mm, broken at spaces; a word wider than that is broken inside. A newline
/// always breaks. Empty text gives no lines.
std::vector<std::string> wrap(const std::string& text, Face face, double size_mm, double width_mm);

/// The text, or as much of it as fits followed by an ellipsis, and by the number that ends it: "extra-wh…-2".
std::string shorten(const std::string& text, Face face, double size_mm, double width_mm);

/// The largest size from `largest_mm` down to `smallest_mm` in which the text is no wider than `width_mm`.
double fitting_size(const std::string& text, Face face, double width_mm, double largest_mm,
                    double smallest_mm);

}  // namespace frostcal::sheet
