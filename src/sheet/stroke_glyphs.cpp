#include "sheet/stroke_glyphs.hpp"

#include <cmath>
#include <string_view>

#include "errors/ascii.hpp"

namespace frostcal::sheet {
namespace {

// Strokes as x y x y, each a digit: 0..4 to the right, 0..6 upwards.
struct Glyph {
  char character;
  std::string_view strokes;
};

constexpr Glyph kGlyphs[] = {
    {'0', "0006 0646 4640 4000 1234"},
    {'1', "0516 1610 0020"},
    {'2', "0646 4643 4303 0300 0040"},
    {'3', "0646 4640 4000 1343"},
    {'4', "0603 0343 4640"},
    {'5', "4606 0603 0343 4340 4000"},
    {'6', "4606 0600 0040 4043 4303"},
    {'7', "0646 4643 4320"},
    {'8', "0006 0646 4640 4000 0343"},
    {'9', "4303 0306 0646 4640 4000"},
    {'A', "0004 0426 2644 4440 0242"},
    {'B', "0006 0636 3645 4544 4433 0333 3342 4241 4130 3000"},
    {'C', "4536 3616 1605 0501 0110 1030 3041"},
    {'D', "0006 0626 2644 4442 4220 2000"},
    {'E', "4606 0600 0040 0333"},
    {'F', "4606 0600 0333"},
    {'G', "4536 3616 1605 0501 0110 1030 3041 4143 4323"},
    {'H', "0006 4046 0343"},
    {'I', "1030 2026 1636"},
    {'J', "4641 4130 3010 1001"},
    {'K', "0006 0346 0340"},
    {'L', "0600 0040"},
    {'M', "0006 0623 2346 4640"},
    {'N', "0006 0640 4046"},
    {'O', "1030 3041 4145 4536 3616 1605 0501 0110"},
    {'P', "0006 0636 3645 4544 4433 3303"},
    {'Q', "1030 3041 4145 4536 3616 1605 0501 0110 2240"},
    {'R', "0006 0636 3645 4544 4433 3303 2340"},
    {'S', "4536 3616 1605 0504 0413 1333 3342 4241 4130 3010 1001"},
    {'T', "0646 2620"},
    {'U', "0601 0110 1030 3041 4146"},
    {'V', "0602 0220 2042 4246"},
    {'W', "0600 0023 2340 4046"},
    {'X', "0046 0640"},
    {'Y', "0623 4623 2320"},
    {'Z', "0646 4600 0040"},
    {'-', "1333"},
    {'.', "2020"},
    {'_', "0040"},
    {'/', "0046"},
    {'+', "2125 0343"},
    {' ', ""},
};
constexpr std::string_view kBox = "0006 0646 4640 4000";

constexpr double kColumns = 4;
constexpr double kRows = 6;

std::string_view strokes_of(char character) {
  const char wanted = errors::to_upper(character);
  for (const Glyph& glyph : kGlyphs)
    if (glyph.character == wanted) return glyph.strokes;
  return kBox;
}

double unit_mm(double height_mm) {
  return (height_mm - stroke_width_mm(height_mm)) / kRows;
}

/// From one letter's left edge to the next one's: the letter and two strokes of white.
double advance_mm(double height_mm) {
  return kColumns * unit_mm(height_mm) + 2.5 * stroke_width_mm(height_mm);
}

/// A stroke with square ends that reach half a width beyond both points.
std::vector<Point> stroke_outline(Point from, Point to, double width_mm) {
  double dx = to.x_mm - from.x_mm;
  double dy = to.y_mm - from.y_mm;
  const double length = std::hypot(dx, dy);
  const double half = width_mm / 2;
  if (length == 0) {
    dx = half;
    dy = 0;
  } else {
    dx *= half / length;
    dy *= half / length;
  }
  return {{from.x_mm - dx + dy, from.y_mm - dy - dx},
          {to.x_mm + dx + dy, to.y_mm + dy - dx},
          {to.x_mm + dx - dy, to.y_mm + dy + dx},
          {from.x_mm - dx - dy, from.y_mm - dy + dx}};
}

/// Clamped to the letter's own box, so that a slanting stroke's corner does not stick out of the line.
void clamp_to_box(std::vector<Point>& outline, double left, double right, double height_mm) {
  for (Point& point : outline) {
    point.x_mm = std::fmin(std::fmax(point.x_mm, left), right);
    point.y_mm = std::fmin(std::fmax(point.y_mm, 0), height_mm);
  }
}

}  // namespace

double stroke_width_mm(double height_mm) {
  return height_mm / 7;
}

double stroke_text_width_mm(const std::string& text, double height_mm) {
  if (text.empty()) return 0;
  const double letter = kColumns * unit_mm(height_mm) + stroke_width_mm(height_mm);
  return static_cast<double>(text.size() - 1) * advance_mm(height_mm) + letter;
}

std::vector<std::vector<Point>> stroke_text(const std::string& text, double height_mm) {
  std::vector<std::vector<Point>> outlines;
  const double unit = unit_mm(height_mm);
  const double width = stroke_width_mm(height_mm);
  double left = 0;
  for (const char character : text) {
    const std::string_view strokes = strokes_of(character);
    const auto at = [&](std::size_t i) {
      return Point{left + width / 2 + (strokes[i] - '0') * unit, width / 2 + (strokes[i + 1] - '0') * unit};
    };
    for (std::size_t i = 0; i + 4 <= strokes.size(); i += 5) {
      outlines.push_back(stroke_outline(at(i), at(i + 2), width));
      clamp_to_box(outlines.back(), left, left + kColumns * unit + width, height_mm);
    }
    left += advance_mm(height_mm);
  }
  return outlines;
}

}  // namespace frostcal::sheet
