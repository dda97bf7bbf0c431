#include "sheet/stroke_glyphs.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <map>

using namespace frostcal::sheet;

namespace {
const std::string kAll = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-._/+";

bool inside(const std::vector<Point>& outline, double x, double y) {
  bool odd = false;
  for (std::size_t i = 0, j = outline.size() - 1; i < outline.size(); j = i++) {
    const Point& a = outline[i];
    const Point& b = outline[j];
    if ((a.y_mm > y) != (b.y_mm > y) && x < (b.x_mm - a.x_mm) * (y - a.y_mm) / (b.y_mm - a.y_mm) + a.x_mm)
      odd = !odd;
  }
  return odd;
}

/// The glyph as black and white pixels, `side` to its height.
std::string picture(char glyph, int side) {
  const auto outlines = stroke_text(std::string(1, glyph), side);
  std::string pixels;
  for (int row = 0; row < side; ++row)
    for (int column = 0; column < side; ++column) {
      bool black = false;
      for (const auto& outline : outlines) black = black || inside(outline, column + 0.5, row + 0.5);
      pixels += black ? '#' : '.';
    }
  return pixels;
}
}  // namespace

TEST_CASE("no two glyphs look alike, even at 20 pixels", "[sheet][glyphs]") {
  std::map<char, std::string> pictures;
  for (const char glyph : kAll) pictures[glyph] = picture(glyph, 20);
  for (const char a : kAll)
    for (const char b : kAll) {
      if (a >= b) continue;
      int different = 0;
      for (std::size_t i = 0; i < pictures[a].size(); ++i)
        different += pictures[a][i] != pictures[b][i] ? 1 : 0;
      INFO(a << " against " << b);
      CHECK(different >= 8);
    }
}

TEST_CASE("glyphs keep to their line and width", "[sheet][glyphs]") {
  for (const double height : {1.2, 2.5, 10.0}) {
    const double width = stroke_text_width_mm(kAll, height);
    double right = 0;
    for (const auto& outline : stroke_text(kAll, height))
      for (const Point& point : outline) {
        CHECK(point.x_mm >= -1e-9);
        CHECK(point.y_mm >= -1e-9);
        CHECK(point.y_mm <= height + 1e-9);
        right = std::fmax(right, point.x_mm);
      }
    CHECK(right <= width + 1e-9);
  }
  CHECK(stroke_text_width_mm("", 2) == 0);
  CHECK(stroke_text("", 2).empty());
}

TEST_CASE("lower case is upper case and an unknown character is a box", "[sheet][glyphs]") {
  CHECK(picture('q', 20) == picture('Q', 20));
  CHECK(picture('#', 20) == picture('@', 20));
  CHECK(picture('#', 20) != picture('0', 20));
}
