// Chance to colour: cividis, which rises steadily in lightness and reads alike with every kind of colour
// sight.
//
// Nunez, Anderton and Renslow (2018), PLoS ONE 13(7), e0199239; table of the authors' cmaputil repository,
// sampled at 17 equal steps with straight lines between them (within 6/255 of the full table).
#pragma once

#include "sheet/drawing.hpp"

namespace frostcal::report {

/// 0 is the darkest, 1 the lightest; values outside are clamped.
sheet::Ink cividis(double value);

}  // namespace frostcal::report
