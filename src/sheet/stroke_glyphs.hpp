// Letters and digits made of straight strokes, for engraving: no font file, so the same bytes everywhere and
// nothing that a viewer could substitute.
//
// Our own shapes on a grid of 4 by 6: digits are square, letters have cut corners, so that 0 and O, 5 and S,
// 8 and B stay apart when they are 2 mm high. Lower case is drawn as upper case.
#pragma once

#include <string>
#include <vector>

#include "sheet/drawing.hpp"

namespace frostcal::sheet {

/// Width of the text in mm, from the left edge of the first stroke to the right edge of the last.
double stroke_text_width_mm(const std::string& text, double height_mm);

/// Filled outlines of the text with its lower left corner at the origin, reading along +x; `height_mm` is the
/// height of a letter over all. Outlines of one glyph overlap at the joints. A character other than A-Z, 0-9,
/// space and - . _ / + is drawn as an empty box.
std::vector<std::vector<Point>> stroke_text(const std::string& text, double height_mm);

/// Stroke width at that height: a seventh of it.
double stroke_width_mm(double height_mm);

}  // namespace frostcal::sheet
