// Grades of a made-up glass, for shops whose numbers don't matter.
#pragma once

#include <sstream>
#include <string>

#include "design/grid.hpp"
#include "shop/setting.hpp"

namespace frostcal::test {

/// A form to hand in, by a rule of ours: even frost from 0.45 J/mm2 on, chips from 1.6 J/mm2 on.
inline std::string grades_by_dose(const design::Grid& grid, const shop::Machine& machine,
                                  int even_frost = 5) {
  std::ostringstream form;
  form << "swatch,frost,chipping\n";
  for (const design::Swatch& swatch : grid.swatches) {
    const double dose = shop::dose_j_mm2(swatch.setting, machine);
    form << swatch.id << ','
         << (dose < 0.3    ? 2
             : dose < 0.45 ? 3
                           : even_frost)
         << ',' << (dose > 1.6 ? 2 : 0) << '\n';
  }
  return form.str();
}

}  // namespace frostcal::test
