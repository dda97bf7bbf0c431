// Fills that a driver, and a person, can tell apart: far from each other in CIELAB.
//
// CIELAB: CIE 15 (Colorimetry), white point D65 (0.95047, 1, 1.08883), from sRGB by IEC 61966-2-1.
// Distance: CIE 1976 colour difference, the Euclidean distance in L*, a*, b*.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "sheet/drawing.hpp"

namespace frostcal::sheet {

/// L*, a*, b*.
std::array<double, 3> lab(const Ink& ink);
double colour_difference(const Ink& a, const Ink& b);

/// `count` fills. One alone is black. Of several, each is the colour, of sRGB from 24 to 232 in steps of 16 a
/// channel, of chroma 20 to 55 (muted: no primaries, no black) and of L* 25 to 82, whose least difference
/// from white, black and all before it is largest. Greys are left out, since a driver may read a grey as
/// tone. Fills 1..k do not depend on `count` as long as it is over 1. Throws Bug unless 1 <= count <= 64.
std::vector<Ink> recipe_inks(int count);

/// "#RRGGBB" to ink; throws UserError naming machine.fills for anything else.
Ink ink_from_text(const std::string& text);

}  // namespace frostcal::sheet
