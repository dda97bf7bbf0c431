#include "sheet/standing_frame.hpp"

#include <algorithm>
#include <cmath>

#include "errors/bug.hpp"
#include "numerics/pi.hpp"

namespace frostcal::sheet {
StandingFrame::StandingFrame(const shop::Machine& machine, const shop::Vessel& vessel)
    : neck(machine.rotary.neck),
      panel_mm(vessel.panel_mm),
      reach_mm(std::min(vessel.panel_mm, machine.rotary.max_length_mm)),
      girth_mm(numerics::kPi * vessel.diameter_mm(0)) {}

Point StandingFrame::on_page(const StandingPoint& point) const {
  if (neck == shop::Side::left) return {panel_mm / 2 - point.v_mm, girth_mm / 2 + point.u_mm};
  return {panel_mm / 2 + point.v_mm, girth_mm / 2 - point.u_mm};
}

std::vector<Point> StandingFrame::on_page(const StandingBox& box) const {
  const Point a = on_page(StandingPoint{box.left, box.bottom});
  const Point b = on_page(StandingPoint{box.right, box.top});
  const double left = std::min(a.x_mm, b.x_mm);
  const double right = std::max(a.x_mm, b.x_mm);
  const double bottom = std::min(a.y_mm, b.y_mm);
  const double top = std::max(a.y_mm, b.y_mm);
  return {{left, bottom}, {right, bottom}, {right, top}, {left, top}};
}

StandingBox standing_box(const design::Swatch& swatch, const shop::Machine& machine,
                         const shop::Vessel& vessel) {
  const double half = swatch.height_mm * vessel.page_stretch(swatch.x_mm) / 2;
  const double u = standing_u(machine.rotary.neck, swatch.y_mm);
  return {u - half, -swatch.x_mm - swatch.width_mm / 2, u + half, -swatch.x_mm + swatch.width_mm / 2};
}

shop::WallArea wall_area(const StandingBox& box, shop::Side neck) {
  const auto [y_low, y_high] = std::minmax({standing_u(neck, box.left), standing_u(neck, box.right)});
  return {-box.top, -box.bottom, y_low, y_high};
}

LocalWall local_wall(const design::Swatch& swatch, const shop::Machine& machine, const shop::Vessel& vessel) {
  const double nominal = vessel.diameter_mm(0);
  const double local = vessel.diameter_mm(swatch.x_mm);
  FROSTCAL_ASSERT(nominal > 0 && local > 0, "vessel without diameter");
  LocalWall wall;
  wall.pitch_mm = shop::pitch_mm(swatch.setting.dpi) * local / nominal;
  wall.dose_j_mm2 = shop::dose_j_mm2(swatch.setting, machine) * nominal / local;
  for (const double end : {-swatch.width_mm / 2, swatch.width_mm / 2}) {
    const double radius_step = (vessel.diameter_mm(swatch.x_mm + end) - nominal) / 2;
    wall.defocus_mm = std::max(wall.defocus_mm, std::fabs(radius_step));
  }
  wall.out_of_focus = wall.defocus_mm > machine.depth_of_focus_mm;
  return wall;
}

}  // namespace frostcal::sheet
