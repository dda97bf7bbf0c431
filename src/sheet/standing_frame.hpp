// The bottle as it stands and the page as it lies: one turn of 90 degrees between them, and which way round
// depends on the side where the rotary holds the neck.
#pragma once

#include <vector>

#include "design/grid.hpp"
#include "sheet/drawing.hpp"
#include "shop/shop.hpp"
#include "shop/vessel_wall.hpp"

namespace frostcal::sheet {

/// In mm: u to the right and v up for somebody who looks at the standing bottle, from the panel's centre and
/// the middle of the placing area. With the neck on the left, u = y_mm and v = -x_mm; with the neck on the
/// right, u = -y_mm and v = -x_mm, since y_mm is upwards on the page either way.
struct StandingPoint {
  double u_mm = 0;
  double v_mm = 0;
};

/// u of a place round the bottle: y_mm, turned as above.
inline double standing_u(shop::Side neck, double y_mm) {
  return neck == shop::Side::left ? y_mm : -y_mm;
}

/// A rectangle of the standing bottle, left < right, bottom < top.
struct StandingBox {
  double left = 0;
  double bottom = 0;
  double right = 0;
  double top = 0;
  bool overlaps(const StandingBox& other) const {
    return left < other.right && other.left < right && bottom < other.top && other.bottom < top;
  }
  StandingBox grown(double by) const { return {left - by, bottom - by, right + by, top + by}; }
};

/// Page of one burn: as wide as the panel is long, as high as the bottle is round at the panel's centre, so
/// that centring the page centres the placing area.
struct StandingFrame {
  shop::Side neck = shop::Side::left;
  double panel_mm = 0;
  double reach_mm = 0;  // of the panel's length, as much as the rotary lets the laser reach
  double girth_mm = 0;

  StandingFrame(const shop::Machine& machine, const shop::Vessel& vessel);
  Point on_page(const StandingPoint& point) const;
  std::vector<Point> on_page(const StandingBox& box) const;
  StandingBox whole() const { return {-girth_mm / 2, -panel_mm / 2, girth_mm / 2, panel_mm / 2}; }
  StandingBox reachable() const { return {-girth_mm / 2, -reach_mm / 2, girth_mm / 2, reach_mm / 2}; }
};

/// Where a swatch is drawn. On a taper the rotary turns by angle, so a page millimetre round the bottle is
/// d / d0 mm of glass (d local diameter, d0 the one at the panel's centre, which is what is typed at the
/// machine): the height is drawn as height_mm * d0 / d. The centre stays where the grid put it.
StandingBox standing_box(const design::Swatch& swatch, const shop::Machine& machine,
                         const shop::Vessel& vessel);

/// A box of the standing bottle in the grid's frame of a machine that holds the neck on that side.
shop::WallArea wall_area(const StandingBox& box, shop::Side neck);

/// What the taper does to one swatch; all neutral on a straight wall.
struct LocalWall {
  double pitch_mm = 0;    // scan-line pitch on the glass: nominal * d / d0
  double dose_j_mm2 = 0;  // nominal * d0 / d
  double defocus_mm = 0;  // largest distance of the swatch's top line from focus set at the panel's centre
  bool out_of_focus = false;  // defocus over the machine's depth of focus
};
LocalWall local_wall(const design::Swatch& swatch, const shop::Machine& machine, const shop::Vessel& vessel);

}  // namespace frostcal::sheet
