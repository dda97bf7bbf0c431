#include "sheet/drawing.hpp"

#include <charconv>
#include <cmath>
#include <utility>

#include "errors/bug.hpp"
#include "numerics/pi.hpp"
#include "sheet/text_width.hpp"
#include "textfile/checksum.hpp"

namespace frostcal::sheet {
namespace {

constexpr double kSlack = 1e-6;

/// Up to three decimals without trailing zeros; for listings only, never for files that are read back.
std::string length_text(double value) {
  char buffer[32];
  const double rounded = std::round(value * 1000) / 1000;
  const auto end = std::to_chars(buffer, buffer + sizeof buffer, rounded == 0 ? 0.0 : rounded).ptr;
  return {buffer, end};
}

std::string point_text(const Point& point) {
  return "(" + length_text(point.x_mm) + "," + length_text(point.y_mm) + ")";
}

std::string mark_text(const std::string& mark) {
  return mark.empty() ? "" : " '" + mark + "'";
}

struct ElementText {
  std::string operator()(const Fill& fill) const {
    std::string text = "fill " + hex_text(fill.ink);
    for (const Point& point : fill.outline) text += " " + point_text(point);
    return text + mark_text(fill.mark);
  }
  std::string operator()(const Rule& rule) const {
    std::string text = "rule " + hex_text(rule.ink) + " " + point_text(rule.from) + " " +
                       point_text(rule.to) + " width " + length_text(rule.width_mm);
    if (rule.dash_mm > 0) text += " dash " + length_text(rule.dash_mm);
    return text;
  }
  std::string operator()(const Polyline& line) const {
    std::string text = "line " + hex_text(line.ink) + " width " + length_text(line.width_mm);
    for (const Point& point : line.points) text += " " + point_text(point);
    return text;
  }
  std::string operator()(const Text& line) const {
    std::string text = "text " + hex_text(line.ink) + " " + point_text(line.at) + " size " +
                       length_text(line.size_mm) + (line.face == Face::bold ? " bold" : "");
    if (line.align == Align::centre) text += " centre";
    if (line.align == Align::right) text += " right";
    if (line.turn_degrees != 0) text += " turn " + length_text(line.turn_degrees);
    return text + " \"" + line.text + "\"";
  }
  std::string operator()(const Image& image) const {
    return "image " + point_text(image.corner) + " " + length_text(image.width_mm) + " x " +
           length_text(image.height_mm) + " pixels " + std::to_string(image.columns) + " x " +
           std::to_string(image.rows) + " crc " + textfile::crc32_text(image.pixels) + mark_text(image.mark);
  }
};

}  // namespace

std::string hex_text(const Ink& ink) {
  static constexpr char kDigits[] = "0123456789ABCDEF";
  std::string text = "#";
  for (const std::uint8_t channel : {ink.red, ink.green, ink.blue}) {
    text += kDigits[channel >> 4];
    text += kDigits[channel & 15];
  }
  return text;
}

Page::Page(double width_mm, double height_mm) : width_mm_(width_mm), height_mm_(height_mm) {
  FROSTCAL_ASSERT(std::isfinite(width_mm) && std::isfinite(height_mm), "page size not finite");
  FROSTCAL_ASSERT(width_mm >= 2 && width_mm <= 5000 && height_mm >= 2 && height_mm <= 5000,
                  "page size outside 2 to 5000 mm");
}

void Page::require_inside(const Point& point) const {
  FROSTCAL_ASSERT(std::isfinite(point.x_mm) && std::isfinite(point.y_mm), "coordinate not finite");
  FROSTCAL_ASSERT(point.x_mm >= -kSlack && point.x_mm <= width_mm_ + kSlack && point.y_mm >= -kSlack &&
                      point.y_mm <= height_mm_ + kSlack,
                  "element leaves the page at " + point_text(point));
}

void Page::add(Fill fill) {
  FROSTCAL_ASSERT(fill.outline.size() >= 3, "a fill needs three corners");
  for (const Point& point : fill.outline) require_inside(point);
  elements_.emplace_back(std::move(fill));
}

void Page::add(Rule rule) {
  require_inside(rule.from);
  require_inside(rule.to);
  FROSTCAL_ASSERT(std::isfinite(rule.width_mm) && rule.width_mm > 0 && rule.width_mm < 30, "line width");
  FROSTCAL_ASSERT(std::isfinite(rule.dash_mm) && rule.dash_mm >= 0, "dash length");
  elements_.emplace_back(rule);
}

void Page::add(Polyline line) {
  FROSTCAL_ASSERT(line.points.size() >= 2, "a line needs two points");
  FROSTCAL_ASSERT(std::isfinite(line.width_mm) && line.width_mm > 0 && line.width_mm < 30, "line width");
  for (const Point& point : line.points) require_inside(point);
  elements_.emplace_back(std::move(line));
}

void Page::add(Text text) {
  FROSTCAL_ASSERT(std::isfinite(text.size_mm) && text.size_mm > 0 && text.size_mm < 200, "text size");
  FROSTCAL_ASSERT(std::isfinite(text.turn_degrees), "text angle");
  text.text = printable(text.text);
  const double width = text_width_mm(text.text, text.face, text.size_mm);
  const double before = text.align == Align::left ? 0 : text.align == Align::centre ? width / 2 : width;
  const double turn = text.turn_degrees * numerics::kPi / 180;
  const Point start{text.at.x_mm - before * std::cos(turn), text.at.y_mm - before * std::sin(turn)};
  require_inside(start);
  require_inside({start.x_mm + width * std::cos(turn), start.y_mm + width * std::sin(turn)});
  elements_.emplace_back(std::move(text));
}

void Page::add(Image image) {
  require_inside(image.corner);
  require_inside({image.corner.x_mm + image.width_mm, image.corner.y_mm + image.height_mm});
  FROSTCAL_ASSERT(image.columns > 0 && image.rows > 0, "image without pixels");
  FROSTCAL_ASSERT(image.kind != PixelKind::one_bit || image.columns % 8 == 0, "one-bit image width");
  const std::size_t count = static_cast<std::size_t>(image.columns) * static_cast<std::size_t>(image.rows);
  FROSTCAL_ASSERT(image.pixels.size() == (image.kind == PixelKind::one_bit ? count / 8 : count * 3),
                  "image bytes do not match its size");
  elements_.emplace_back(std::move(image));
}

void Page::rectangle(double x_mm, double y_mm, double width_mm, double height_mm, const Ink& ink,
                     const std::string& mark) {
  const double right = x_mm + width_mm;
  const double top = y_mm + height_mm;
  add(Fill{{{x_mm, y_mm}, {right, y_mm}, {right, top}, {x_mm, top}}, ink, mark});
}

void Page::frame(double x_mm, double y_mm, double width_mm, double height_mm, double line_mm,
                 const Ink& ink) {
  const Point a{x_mm, y_mm};
  const Point b{x_mm + width_mm, y_mm};
  const Point c{x_mm + width_mm, y_mm + height_mm};
  const Point d{x_mm, y_mm + height_mm};
  for (const auto& [from, to] : {std::pair{a, b}, std::pair{b, c}, std::pair{c, d}, std::pair{d, a}})
    add(Rule{from, to, line_mm, ink, 0});
}

std::string listing(const Page& page) {
  std::string text = "page " + length_text(page.width_mm()) + " x " + length_text(page.height_mm()) + " mm\n";
  for (const Element& element : page.elements()) text += std::visit(ElementText{}, element) + "\n";
  return text;
}

}  // namespace frostcal::sheet
