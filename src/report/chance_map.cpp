#include "report/chance_map.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "errors/bug.hpp"
#include "numerics/pi.hpp"
#include "report/axis.hpp"
#include "report/colour_map.hpp"
#include "report/contours.hpp"
#include "sheet/paper_flow.hpp"
#include "sheet/shown_number.hpp"
#include "sheet/text_width.hpp"
#include "shop/setting.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::report {
namespace {

using sheet::Align;
using sheet::Face;
using sheet::Ink;
using sheet::kBlack;
using sheet::kQuiet;
using sheet::kWhite;
using sheet::Page;
using sheet::Point;
using sheet::Polyline;
using sheet::Rule;
using sheet::Text;

constexpr int kPixels = 120;  // columns and rows of the picture
constexpr int kLattice = 61;  // nodes of the contour lattice, each way
constexpr double kLeftRoom = 11;
constexpr double kRightRoom = 3;
constexpr double kBottomRoom = 9;
constexpr double kTopRoom = 6;
constexpr double kLabel = 2.3;

struct Frame {
  Axis power;
  Axis speed;
};

Frame frame_of(const ChanceMap& map, double x, double y, double width, double height) {
  Frame frame;
  frame.power = {map.power_pct.front(), map.power_pct.back(), true, x + kLeftRoom,
                 width - kLeftRoom - kRightRoom};
  frame.speed = {map.speed_pct.front(), map.speed_pct.back(), true, y - height + kBottomRoom,
                 height - kBottomRoom - kTopRoom};
  return frame;
}

/// Index of the node below and the share of the way to the next, in logarithms.
std::pair<std::size_t, double> between(const std::vector<double>& nodes, double value) {
  const double inside = std::clamp(value, nodes.front(), nodes.back());
  std::size_t i =
      static_cast<std::size_t>(std::upper_bound(nodes.begin(), nodes.end(), inside) - nodes.begin());
  i = std::clamp<std::size_t>(i, 1, nodes.size() - 1) - 1;
  return {i, std::log(inside / nodes[i]) / std::log(nodes[i + 1] / nodes[i])};
}

void draw_ground(Page& page, const ChanceMap& map, const Frame& frame) {
  sheet::Image image;
  image.corner = {frame.power.start_mm, frame.speed.start_mm};
  image.width_mm = frame.power.length_mm;
  image.height_mm = frame.speed.length_mm;
  image.columns = image.rows = kPixels;
  image.kind = sheet::PixelKind::rgb;
  image.mark = "chance at " + std::to_string(map.dpi) + " dpi";
  for (int row = 0; row < kPixels; ++row)
    for (int column = 0; column < kPixels; ++column) {
      const double power = along(frame.power.low, frame.power.high, (column + 0.5) / kPixels);
      const double speed = along(frame.speed.low, frame.speed.high, 1 - (row + 0.5) / kPixels);
      const Ink ink = cividis(chance_at(map, power, speed));
      for (const std::uint8_t level : {ink.red, ink.green, ink.blue})
        image.pixels += static_cast<char>(level);
    }
  page.add(std::move(image));
}

/// A label in a white box at the middle of the line, where it is at least a box away from all earlier labels.
void label_line(Page& page, const std::vector<Point>& line, const std::string& text, bool heavy,
                const Frame& frame, std::vector<Point>& taken) {
  const Face face = heavy ? Face::bold : Face::regular;
  const double width = sheet::text_width_mm(text, face, kLabel) + 0.8;
  for (const double share : {0.5, 0.35, 0.65, 0.2, 0.8}) {
    const Point& at = line[static_cast<std::size_t>(share * static_cast<double>(line.size() - 1))];
    const bool inside = at.x_mm - width / 2 > frame.power.start_mm &&
                        at.x_mm + width / 2 < frame.power.start_mm + frame.power.length_mm &&
                        at.y_mm - 1.6 > frame.speed.start_mm &&
                        at.y_mm + 1.6 < frame.speed.start_mm + frame.speed.length_mm;
    const bool crowded = std::any_of(taken.begin(), taken.end(), [&](const Point& other) {
      return std::fabs(other.x_mm - at.x_mm) < width + 1 && std::fabs(other.y_mm - at.y_mm) < 3.6;
    });
    if (!inside || crowded) continue;
    page.rectangle(at.x_mm - width / 2, at.y_mm - 1.3, width, 2.6, kWhite);
    page.add(Text{{at.x_mm, at.y_mm - 0.85}, kLabel, text, face, Align::centre, kBlack, 0});
    taken.push_back(at);
    return;
  }
}

ValueLattice lattice_of(const ChanceMap& map, const Frame& frame) {
  ValueLattice lattice{kLattice, kLattice, {}};
  for (int row = 0; row < kLattice; ++row)
    for (int column = 0; column < kLattice; ++column)
      lattice.value.push_back(chance_at(map,
                                        along(frame.power.low, frame.power.high, column / (kLattice - 1.0)),
                                        along(frame.speed.low, frame.speed.high, row / (kLattice - 1.0))));
  return lattice;
}

void draw_contours(Page& page, const ChanceMap& map, double target, const Frame& frame,
                   std::vector<Point>& taken) {
  const ValueLattice lattice = lattice_of(map, frame);
  std::vector<double> levels{target};
  for (const double level : {0.1, 0.25, 0.5, 0.75})
    if (std::fabs(level - target) > 0.04) levels.push_back(level);
  std::vector<std::pair<std::vector<Point>, double>> lines;
  for (const double level : levels)
    for (std::vector<Point> line : contour_lines(lattice, level)) {
      for (Point& point : line)
        point = {frame.power.start_mm + point.x_mm / (kLattice - 1) * frame.power.length_mm,
                 frame.speed.start_mm + point.y_mm / (kLattice - 1) * frame.speed.length_mm};
      const bool heavy = level == target;
      page.add(Polyline{line, heavy ? 0.9 : 0.3, heavy || level >= 0.5 ? kBlack : kWhite});
      lines.emplace_back(std::move(line), level);
    }
  for (const auto& [line, level] : lines)
    if (line.size() >= 6) label_line(page, line, textfile::shown_bar(level), level == target, frame, taken);
}

void draw_axes(Page& page, const ChanceMap& map, const Frame& frame, double x, double y) {
  const double bottom = frame.speed.start_mm;
  const double left = frame.power.start_mm;
  page.frame(left, bottom, frame.power.length_mm, frame.speed.length_mm, 0.2);
  for (const double tick : frame.power.ticks(7)) {
    const double at = frame.power.at(tick);
    page.add(Rule{{at, bottom - 1}, {at, bottom}, 0.2, kBlack, 0});
    page.add(
        Text{{at, bottom - 3.6}, 2.5, sheet::shown_number(tick, 2), Face::regular, Align::centre, kBlack, 0});
  }
  for (const double tick : frame.speed.ticks(7)) {
    const double at = frame.speed.at(tick);
    page.add(Rule{{left - 1, at}, {left, at}, 0.2, kBlack, 0});
    page.add(Text{
        {left - 1.6, at - 0.9}, 2.5, sheet::shown_number(tick, 2), Face::regular, Align::right, kBlack, 0});
  }
  page.add(Text{{left + frame.power.length_mm / 2, bottom - 7},
                2.6,
                "power %",
                Face::regular,
                Align::centre,
                kQuiet,
                0});
  page.add(Text{{x + 2.4, bottom + frame.speed.length_mm / 2},
                2.6,
                "speed %",
                Face::regular,
                Align::centre,
                kQuiet,
                90});
  page.add(Text{{left, y - 3.8}, 3.2, map_title(map), Face::bold, Align::left, kBlack, 0});
  if (map.others > 0) {
    page.add(Text{{left + frame.power.length_mm, y - 3.8},
                  2.6,
                  std::to_string(map.others) + " not shown",
                  Face::regular,
                  Align::right,
                  kQuiet,
                  0});
  }
}

std::string grade_text(const SwatchMark& mark) {
  const auto digit = [](const std::optional<int>& grade) {
    return grade ? std::to_string(*grade) : std::string("\u2013");
  };
  return digit(mark.frost) + "/" + digit(mark.chipping);
}

/// Swatches of one setting share a place: their grades are listed, the third and later ones counted.
void draw_swatches(Page& page, const ChanceMap& map, const Frame& frame) {
  std::map<std::pair<double, double>, std::vector<std::string>> places;
  for (const SwatchMark& mark : map.swatches)
    places[{mark.power_pct, mark.speed_pct}].push_back(grade_text(mark));
  for (const auto& [place, grades] : places) {
    std::string text = grades[0];
    if (grades.size() > 1) text += " " + grades[1];
    if (grades.size() > 2) text += " +" + std::to_string(grades.size() - 2);
    const double width = sheet::text_width_mm(text, Face::regular, kLabel) + 1;
    const double right = frame.power.start_mm + frame.power.length_mm;
    const double top = frame.speed.start_mm + frame.speed.length_mm;
    const double x =
        std::clamp(frame.power.at(place.first), frame.power.start_mm + width / 2, right - width / 2);
    const double y = std::clamp(frame.speed.at(place.second), frame.speed.start_mm + 1.5, top - 1.5);
    page.rectangle(x - width / 2, y - 1.5, width, 3, kWhite);
    page.frame(x - width / 2, y - 1.5, width, 3, 0.2);
    page.add(Text{{x, y - 0.85}, kLabel, text, Face::regular, Align::centre, kBlack, 0});
  }
}

void draw_best(Page& page, const ChanceMap& map, const Frame& frame) {
  if (!map.best) return;
  const double right = frame.power.start_mm + frame.power.length_mm;
  const double top = frame.speed.start_mm + frame.speed.length_mm;
  constexpr double kRing = 2.2;
  const double x = std::clamp(frame.power.at(map.best->first), frame.power.start_mm + kRing, right - kRing);
  const double y = std::clamp(frame.speed.at(map.best->second), frame.speed.start_mm + kRing, top - kRing);
  std::vector<Point> ring;
  for (int i = 0; i <= 32; ++i) {
    const double turn = i * 2 * numerics::kPi / 32;
    ring.push_back({x + 1.9 * std::cos(turn), y + 1.9 * std::sin(turn)});
  }
  for (const auto& [width, ink] : {std::pair{1.3, kWhite}, std::pair{0.5, kBlack}}) {
    page.add(Polyline{ring, width, ink});
    page.add(Polyline{{{x - 1, y}, {x + 1, y}}, width, ink});
    page.add(Polyline{{{x, y - 1}, {x, y + 1}}, width, ink});
  }
}

}  // namespace

std::string map_title(const ChanceMap& map) {
  std::string title = std::to_string(map.dpi) + " dpi";
  if (map.tone_pct < 100) title += ", tone " + shop::dial_text(map.tone_pct) + " %";
  if (map.passes > 1) title += ", " + std::to_string(map.passes) + " passes";
  return title;
}

double chance_at(const ChanceMap& map, double power_pct, double speed_pct) {
  const auto [i, right] = between(map.power_pct, power_pct);
  const auto [j, up] = between(map.speed_pct, speed_pct);
  const std::size_t n = map.power_pct.size();
  const double below = map.chance[j * n + i] * (1 - right) + map.chance[j * n + i + 1] * right;
  const double above = map.chance[(j + 1) * n + i] * (1 - right) + map.chance[(j + 1) * n + i + 1] * right;
  return below * (1 - up) + above * up;
}

void draw_chance_map(Page& page, const ChanceMap& map, double target, double x_mm, double y_mm,
                     double width_mm, double height_mm) {
  FROSTCAL_ASSERT(map.power_pct.size() >= 2 && map.speed_pct.size() >= 2 &&
                      map.chance.size() == map.power_pct.size() * map.speed_pct.size(),
                  "chance map: sizes");
  const Frame frame = frame_of(map, x_mm, y_mm, width_mm, height_mm);
  std::vector<Point> taken;
  for (const SwatchMark& mark : map.swatches)
    taken.push_back({frame.power.at(mark.power_pct), frame.speed.at(mark.speed_pct)});
  draw_ground(page, map, frame);
  draw_contours(page, map, target, frame, taken);
  draw_swatches(page, map, frame);
  draw_best(page, map, frame);
  draw_axes(page, map, frame, x_mm, y_mm);
}

void draw_chance_legend(Page& page, double x_mm, double y_mm) {
  constexpr int kSteps = 60;
  sheet::Image image;
  image.corner = {x_mm, y_mm - 3.5};
  image.width_mm = 60;
  image.height_mm = 3.5;
  image.columns = kSteps;
  image.rows = 1;
  image.kind = sheet::PixelKind::rgb;
  image.mark = "chance legend";
  for (int i = 0; i < kSteps; ++i) {
    const Ink ink = cividis((i + 0.5) / kSteps);
    for (const std::uint8_t level : {ink.red, ink.green, ink.blue}) image.pixels += static_cast<char>(level);
  }
  page.add(std::move(image));
  page.frame(x_mm, y_mm - 3.5, 60, 3.5, 0.2);
  for (const double chance : {0.0, 0.25, 0.5, 0.75, 1.0}) {
    const double at = x_mm + 60 * chance;
    page.add(Rule{{at, y_mm - 4.5}, {at, y_mm - 3.5}, 0.2, kBlack, 0});
    page.add(Text{{at, y_mm - 7},
                  2.5,
                  sheet::shown_number(chance, 2),
                  Face::regular,
                  chance == 0   ? Align::left
                  : chance == 1 ? Align::right
                                : Align::centre,
                  kBlack,
                  0});
  }
}

}  // namespace frostcal::report
