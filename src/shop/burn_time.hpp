// How long the machine takes to raster an area, and how many scan lines that is.
#pragma once

#include <string>

#include "shop/setting.hpp"
#include "shop/shop.hpp"

namespace frostcal::shop {

/// Raster formula: lines = ceil(height / pitch); seconds = passes * lines * (length / v + turnaround).
/// length_mm runs along the scan (the bottle's axis), height_mm across it (round the bottle).
struct RasterTime {
  long lines = 0;
  double seconds = 0;
};
RasterTime raster_time(double length_mm, double height_mm, const Setting& setting, const Machine& machine);

/// Minutes for 10 cm2, or for a square inch where the shop shows inches, and "1.6 min per 10 cm2" or "1.0 min
/// per square inch".
double area_minutes(double seconds_per_cm2, LengthUnit units);
std::string area_time_text(double seconds_per_cm2, LengthUnit units);

}  // namespace frostcal::shop
