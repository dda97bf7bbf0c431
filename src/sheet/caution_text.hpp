// The cautions that stand on every sheet, in one place.
#pragma once

#include <string>
#include <vector>

#include "shop/shop.hpp"

namespace frostcal::sheet {

/// Short sentences, the most urgent first; the first one defers to manuals and codes. The glass's family adds
/// its own. Sources: IEC 60825-1 (laser classes, as summarised by AUVA); NIOSH, Int. Laser Safety Conf. 1990
/// (glass fume); physics of bottles: soda-lime stands about 40 to 55 K of sudden difference, and strength
/// falls by up to 70 % (reported); the rest is common practice, no source.
std::vector<std::string> cautions(const shop::Glass& glass);

/// The ones for somebody who only reads the wall card.
std::vector<std::string> short_cautions();

}  // namespace frostcal::sheet
