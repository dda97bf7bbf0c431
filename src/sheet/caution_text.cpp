#include "sheet/caution_text.hpp"

namespace frostcal::sheet {

std::vector<std::string> cautions(const shop::Glass& glass) {
  std::vector<std::string> lines;
  if (glass.family == "lead-crystal")
    lines.push_back(
        "LEAD CRYSTAL: heating may free lead. Do not burn it without measured control of the fume.");
  lines.insert(
      lines.end(),
      {"The manuals of laser and rotary, local codes and the laser safety officer come before this sheet.",
       "An open CO2 beam blinds and burns, also by reflection: covers shut, interlocks never bypassed.",
       "Exhaust on until the air is clear. A mask alone does not stop glass fume.",
       "Empty, dry bottles at room temperature only. Never filled, cold, tempered or cracked ones.",
       "Stay with the machine, extinguisher in reach. Paper, tape and labels burn.",
       "Frosted glass sheds sharp chips for days: gloves, eye protection, wipe wet; no brush, no compressed "
       "air.",
       "Frosting weakens a bottle: no pressure, no hot fill. Look again after a day; discard one that "
       "cracks."});
  if (glass.family == "other")
    lines.push_back("Unknown glass can shatter: try one swatch first, covers shut.");
  return lines;
}

std::vector<std::string> short_cautions() {
  return {"Manuals and local codes come first.",
          "Empty, dry, room-temperature bottles. No pressure, no hot fill, no lead crystal.",
          "Covers shut, exhaust on, stay with the machine.",
          "Sharp chips for days: gloves, eye protection, wipe wet. Look again after a day."};
}

}  // namespace frostcal::sheet
