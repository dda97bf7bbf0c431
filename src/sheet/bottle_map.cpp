#include "sheet/bottle_map.hpp"

#include <algorithm>

#include "sheet/paper_flow.hpp"
#include "sheet/text_width.hpp"

namespace frostcal::sheet {
namespace {

constexpr double kAbove = 10;  // bottle's name and "neck"
constexpr double kBelow = 5;   // "base"
constexpr double kLegend = 4;  // below "base", where earlier grids burned
constexpr double kLegendSize = 2.4;
const std::string kLegendText = "dashed: burned before";
constexpr double kNameSize = 3.1;
constexpr double kNameWidth = 75;  // longer names are set smaller
constexpr double kSeamSize = 2.2;
constexpr double kAround = 3;  // glass shown beside the outermost swatch

/// Seams are evenly spaced and y_mm = 0 lies midway between two of them.
std::vector<double> seam_places(const StandingFrame& frame, int seams) {
  std::vector<double> places;
  for (int i = 0; i < seams; ++i) {
    double u = (i + 0.5) * frame.girth_mm / seams;
    if (u > frame.girth_mm / 2) u -= frame.girth_mm;
    places.push_back(u);
  }
  return places;
}

void stretch(StandingBox& box, double left, double right) {
  box.left = std::min(box.left, left);
  box.right = std::max(box.right, right);
}

BottleMap& map_of(std::vector<BottleMap>& maps, const std::string& bottle, const StandingFrame& frame) {
  for (BottleMap& map : maps)
    if (map.bottle == bottle) return map;
  BottleMap map{bottle, frame, {-10, -frame.panel_mm / 2, 10, frame.panel_mm / 2}, {}, {}, {}, {}, {}, {},
                false,  {}};
  maps.push_back(map);
  return maps.back();
}

double name_size(const BottleMap& map) {
  return fitting_size(map.bottle, Face::bold, kNameWidth, kNameSize, 2);
}

void add_shapes(BottleMap& map, const std::vector<std::vector<Point>>& shapes) {
  for (const auto& shape : shapes) {
    map.marks.push_back(shape);
    for (const Point& point : shape) stretch(map.shown, point.x_mm - kAround, point.x_mm + kAround);
  }
}

void add_older(BottleMap& map, const ShelvedBottle& bottle) {
  map.older_places = bottle.places;
  map.older_ids = bottle.ids;
  for (const StandingBox& box : bottle.places) stretch(map.shown, box.left - kAround, box.right + kAround);
  add_shapes(map, bottle.shapes);
  map.marks_are_older = true;
}

void draw_older(Page& page, const StandingBox& box, const std::string& id) {
  const Point corners[] = {
      {box.left, box.bottom}, {box.right, box.bottom}, {box.right, box.top}, {box.left, box.top}};
  for (std::size_t i = 0; i < 4; ++i) page.add(Rule{corners[i], corners[(i + 1) % 4], 0.15, kQuiet, 0.7});
  const double width = box.right - box.left;
  const double size =
      std::min({2.6, 0.86 * width / text_width_mm(id, Face::regular, 1), 0.8 * (box.top - box.bottom)});
  page.add(Text{{(box.left + box.right) / 2, (box.bottom + box.top) / 2 - size * 0.36},
                size,
                id,
                Face::regular,
                Align::centre,
                kQuiet,
                0});
}

}  // namespace

std::vector<BottleMap> bottle_maps(const shop::Machine& machine, const shop::Vessel& vessel,
                                   const design::Grid& grid, const std::vector<BurnSheet>& sheets) {
  const StandingFrame frame(machine, vessel);
  std::vector<BottleMap> maps;
  for (const BurnSheet& sheet : sheets) {
    BottleMap& map = map_of(maps, sheet.plan.bottle, frame);
    for (const std::size_t index : sheet.plan.swatches) {
      const design::Swatch& swatch = grid.swatches[index];
      const StandingBox box = standing_box(swatch, machine, vessel);
      map.places.push_back(box);
      map.ids.push_back(swatch.id);
      map.flagged.push_back(local_wall(swatch, machine, vessel).out_of_focus);
      stretch(map.shown, box.left - kAround, box.right + kAround);
    }
    add_shapes(map, sheet.marks.shapes);
    if (sheet.shelved && map.older_places.empty()) add_older(map, *sheet.shelved);
  }
  for (BottleMap& map : maps) {
    map.shown.left = std::max(map.shown.left, -frame.girth_mm / 2);
    map.shown.right = std::min(map.shown.right, frame.girth_mm / 2);
    for (const double u : seam_places(frame, vessel.seams))
      if (u >= map.shown.left && u <= map.shown.right) map.seams_u.push_back(u);
  }
  return maps;
}

double map_width_mm(const BottleMap& map, double scale) {
  return (map.shown.right - map.shown.left) * scale;
}

double map_block_width_mm(const BottleMap& map, double scale) {
  const double legend = map.older_places.empty() ? 0 : text_width_mm(kLegendText, Face::regular, kLegendSize);
  return std::max({map_width_mm(map, scale), text_width_mm(map.bottle, Face::bold, name_size(map)), legend});
}

double map_height_mm(const BottleMap& map, double scale) {
  return (map.shown.top - map.shown.bottom) * scale + kAbove + kBelow +
         (map.older_places.empty() ? 0 : kLegend);
}

void draw_map(Page& page, const BottleMap& map, double x_mm, double y_mm, double scale) {
  const double width = map_width_mm(map, scale);
  const double height = (map.shown.top - map.shown.bottom) * scale;
  const double bottom = y_mm - kAbove - height;
  const auto at = [&](double u, double v) {
    return Point{x_mm + (u - map.shown.left) * scale, bottom + (v - map.shown.bottom) * scale};
  };
  const double middle = x_mm + width / 2;
  page.add(Text{{x_mm, y_mm - 3.2}, name_size(map), map.bottle, Face::bold, Align::left, kBlack, 0});
  page.add(Text{{middle, y_mm - kAbove + 1.2}, 2.6, "\u2191 neck", Face::regular, Align::centre, kQuiet, 0});
  page.add(Text{{middle, bottom - 3.4}, 2.6, "base", Face::regular, Align::centre, kQuiet, 0});
  page.frame(x_mm, bottom, width, height, 0.15, kThin);
  for (const double u : map.seams_u) {
    page.add(Rule{at(u, map.shown.bottom), at(u, map.shown.top), 0.2, kQuiet, 1});
    // Turned by 90 degrees the word stands to the left of its place: on the right of a seam at the left edge.
    const double x = at(u, 0).x_mm;
    const double word = x - x_mm < kSeamSize + 0.6 ? x + 0.6 + kSeamSize : x - 0.6;
    page.add(Text{{word, bottom + 1}, kSeamSize, "seam", Face::regular, Align::left, kQuiet, 90});
  }
  for (std::size_t i = 0; i < map.older_places.size(); ++i) {
    const StandingBox& box = map.older_places[i];
    const Point low = at(box.left, box.bottom);
    const Point high = at(box.right, box.top);
    draw_older(page, {low.x_mm, low.y_mm, high.x_mm, high.y_mm}, map.older_ids[i]);
  }
  if (!map.older_places.empty()) {
    const double y = bottom - 3.4 - kLegend;
    page.add(Text{{x_mm, y}, kLegendSize, kLegendText, Face::regular, Align::left, kQuiet, 0});
  }
  for (std::size_t i = 0; i < map.places.size(); ++i) {
    const StandingBox& box = map.places[i];
    const Point corner = at(box.left, box.bottom);
    const double w = (box.right - box.left) * scale;
    const double h = (box.top - box.bottom) * scale;
    page.frame(corner.x_mm, corner.y_mm, w, h, 0.3);
    const std::string text = map.ids[i] + (map.flagged[i] ? "*" : "");
    const double per_mm = text_width_mm(text, Face::bold, 1);
    const double size = std::min({3.4, 0.86 * w / per_mm, 0.8 * h});
    page.add(Text{{corner.x_mm + w / 2, corner.y_mm + h / 2 - size * 0.36},
                  size,
                  text,
                  Face::bold,
                  Align::centre,
                  kBlack,
                  0});
  }
  for (const auto& shape : map.marks) {
    std::vector<Point> outline;
    for (const Point& point : shape) outline.push_back(at(point.x_mm, point.y_mm));
    page.add(Fill{outline, kBlack, map.marks_are_older ? "burned before" : ""});
  }
}

}  // namespace frostcal::sheet
