// The chance of an acceptable bottle over power and speed at one dpi, as a picture with labelled contours.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sheet/drawing.hpp"

namespace frostcal::report {

/// A graded swatch on the map. An empty grade was not gradable.
struct SwatchMark {
  std::string id;
  double power_pct = 0;
  double speed_pct = 0;
  std::optional<int> frost;
  std::optional<int> chipping;
};

/// chance[speed * power_pct.size() + power], 0 to 1; both axes ascending, positive, at least two values each.
struct ChanceMap {
  int dpi = 0;
  double tone_pct = 100;
  int passes = 1;
  std::vector<double> power_pct;
  std::vector<double> speed_pct;
  std::vector<double> chance;
  std::vector<SwatchMark> swatches;               // of this dpi, tone and number of passes
  int others = 0;                                 // of this dpi alone
  std::optional<std::pair<double, double>> best;  // power, speed, where the best setting has this dpi
};

/// "400 dpi, tone 90 %".
std::string map_title(const ChanceMap& map);

/// Chance at a setting within the map, linear between the nodes in ln power and ln speed.
double chance_at(const ChanceMap& map, double power_pct, double speed_pct);

/// Draws the map with its axes into a box of the given size, top left corner at (x, y): power to the right
/// and speed upwards, both logarithmic; cividis as ground, contours at 0.1, 0.25, 0.5, 0.75 and, heavy, at
/// the target; a swatch as frost/chipping in a white box, the best setting as a ring with a cross. Dark tones
/// are low chances, so it reads in grey too.
void draw_chance_map(sheet::Page& page, const ChanceMap& map, double target, double x_mm, double y_mm,
                     double width_mm, double height_mm);

/// The bar that explains the colours, 60 mm wide and 9 mm high.
void draw_chance_legend(sheet::Page& page, double x_mm, double y_mm);

}  // namespace frostcal::report
