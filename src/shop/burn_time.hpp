// How long the machine takes to raster an area, and how many scan lines that is.
#pragma once

#include "shop/setting.hpp"

namespace frostcal::shop {

/// Raster formula: lines = ceil(height / pitch); seconds = passes * lines * (length / v + turnaround).
/// length_mm runs along the scan (the bottle's axis), height_mm across it (round the bottle).
struct RasterTime {
  long lines = 0;
  double seconds = 0;
};
RasterTime raster_time(double length_mm, double height_mm, const Setting& setting, const Machine& machine);

}  // namespace frostcal::shop
