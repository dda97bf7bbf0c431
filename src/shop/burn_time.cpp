#include "shop/burn_time.hpp"

#include <cmath>

#include "errors/bug.hpp"

#include "textfile/number_text.hpp"

namespace frostcal::shop {

RasterTime raster_time(double length_mm, double height_mm, const Setting& setting, const Machine& machine) {
  FROSTCAL_ASSERT(length_mm >= 0 && height_mm >= 0 && setting.dpi > 0, "a raster needs a size and a dpi");
  RasterTime time;
  // The subtrahend keeps a height of exactly n pitches at n lines.
  time.lines = static_cast<long>(std::ceil(height_mm / pitch_mm(setting.dpi) - 1e-9));
  time.seconds = setting.passes * static_cast<double>(time.lines) *
                 (length_mm / machine.scan_speed_mm_s(setting.speed_pct) + machine.turnaround_s);
  return time;
}

double area_minutes(double seconds_per_cm2, LengthUnit units) {
  const double cm2 = units == LengthUnit::mm ? 10 : kMmPerInch * kMmPerInch / 100;
  return seconds_per_cm2 * cm2 / 60;
}

std::string area_time_text(double seconds_per_cm2, LengthUnit units) {
  return textfile::format_fixed(area_minutes(seconds_per_cm2, units), 1) +
         (units == LengthUnit::mm ? " min per 10 cm2 of art 40 mm high"
                                  : " min per square inch of art 1.6 in high");
}

}  // namespace frostcal::shop
