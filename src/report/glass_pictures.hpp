// What the report and the terminal map show of one glass, read off its fitted surface.
#pragma once

#include <vector>

#include "choice/decision.hpp"
#include "report/chance_map.hpp"
#include "report/fit_report.hpp"
#include "surface/glass_surface.hpp"
#include "surface/shop_observations.hpp"

namespace frostcal::report {

/// The chance over power and speed for each dpi that was burned, and that of the best setting. Axes run over
/// the machine's ranges in even log steps. None where power or speed has one value: there is no such axis.
std::vector<ChanceMap> chance_maps(const shop::Machine& machine, const surface::GlassSurface& surface,
                                   const surface::ShopEvidence& evidence, const choice::GlassChoice& choice,
                                   int nodes);

/// Maps, cuts through the best setting along each dial that has more than one value, grades seen against
/// expected, and the evidence in words.
GlassReport glass_report(const shop::Machine& machine, const surface::GlassSurface& surface,
                         const surface::ShopEvidence& evidence, const choice::GlassChoice& choice);

}  // namespace frostcal::report
