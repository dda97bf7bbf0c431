// What is on a page, in millimetres, before any file format: fills, rules, text and images.
#pragma once

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

namespace frostcal::sheet {

/// From the page's lower left corner, x to the right, y upwards.
struct Point {
  double x_mm = 0;
  double y_mm = 0;
};

/// sRGB, 8 bits a channel. Equal channels are written as a grey level, never as a colour.
struct Ink {
  std::uint8_t red = 0;
  std::uint8_t green = 0;
  std::uint8_t blue = 0;
};
inline bool operator==(const Ink& a, const Ink& b) {
  return a.red == b.red && a.green == b.green && a.blue == b.blue;
}
inline constexpr Ink kBlack{0, 0, 0};
inline constexpr Ink kWhite{255, 255, 255};
constexpr Ink grey(std::uint8_t level) {
  return {level, level, level};
}
/// "#1A2B3C"
std::string hex_text(const Ink& ink);

enum class Face { regular, bold };
enum class Align { left, centre, right };

/// A closed outline, filled without an edge line. `mark` says what it stands for ("swatch B7"); it is not
/// printed, it names the fill in listings and tests.
struct Fill {
  std::vector<Point> outline;
  Ink ink;
  std::string mark;
};

/// A straight line; dash_mm = 0 draws it whole, else dashes and gaps of that length.
struct Rule {
  Point from;
  Point to;
  double width_mm = 0.2;
  Ink ink;
  double dash_mm = 0;
};

/// A bent line with round corners and ends, for curves.
struct Polyline {
  std::vector<Point> points;
  double width_mm = 0.2;
  Ink ink;
};

/// One line of text. `at` is on the baseline; size_mm is the size of the em; turn_degrees is anticlockwise.
struct Text {
  Point at;
  double size_mm = 3;
  std::string text;
  Face face = Face::regular;
  Align align = Align::left;
  Ink ink;
  double turn_degrees = 0;
};

/// one_bit: rows top to bottom, 8 pixels a byte, first pixel in the highest bit, 1 = burn (black);
/// columns must be a multiple of 8. rgb: 3 bytes a pixel, rows top to bottom.
enum class PixelKind { one_bit, rgb };
struct Image {
  Point corner;  // lower left
  double width_mm = 0;
  double height_mm = 0;
  int columns = 0;
  int rows = 0;
  PixelKind kind = PixelKind::rgb;
  std::string pixels;
  std::string mark;
};

using Element = std::variant<Fill, Rule, Polyline, Text, Image>;

/// A page. Elements are painted in the order in which they were added. Adding throws Bug for a coordinate
/// that is not finite or lies more than 1e-6 mm outside the page, a line without width, or an image whose
/// bytes do not match its size. (Text is judged by its measured width.)
class Page {
 public:
  /// Sides from 2 to 5000 mm (PDF allows 1.06 to 5080 mm).
  Page(double width_mm, double height_mm);

  double width_mm() const { return width_mm_; }
  double height_mm() const { return height_mm_; }
  const std::vector<Element>& elements() const { return elements_; }

  void add(Fill fill);
  void add(Rule rule);
  void add(Polyline line);
  void add(Text text);
  void add(Image image);

  /// A filled rectangle from its lower left corner.
  void rectangle(double x_mm, double y_mm, double width_mm, double height_mm, const Ink& ink,
                 const std::string& mark = "");
  /// Four rules round a rectangle.
  void frame(double x_mm, double y_mm, double width_mm, double height_mm, double line_mm,
             const Ink& ink = kBlack);

 private:
  void require_inside(const Point& point) const;

  double width_mm_;
  double height_mm_;
  std::vector<Element> elements_;
};

/// One line per element with lengths to 0.001 mm, for tests and for reviewing a change of layout:
/// "fill #000000 (1,2) (3,2) ... 'swatch B7'". Image pixels appear as size and CRC-32 only.
std::string listing(const Page& page);

}  // namespace frostcal::sheet
