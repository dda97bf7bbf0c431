// Blocks one below another on as many pages as they need, within the area that A4 and Letter share.
//
// A4 is 210 x 297 mm (ISO 216), Letter 215.9 x 279.4 mm (ANSI/ASME Y14.1); 190 x 259 mm, centred, leaves at
// least 10 mm of margin on both, which office printers need.
#pragma once

#include <string>
#include <vector>

#include "sheet/drawing.hpp"
#include "shop/shop.hpp"

namespace frostcal::sheet {

struct PaperSize {
  double width_mm;
  double height_mm;
};
/// Upright.
PaperSize size_of(shop::Paper paper);

inline constexpr double kAreaWidth = 190;
inline constexpr double kAreaHeight = 259;

/// Greys with at least 4.5:1 contrast on white where text is drawn in them (WCAG 2.1, 1.4.3).
inline constexpr Ink kQuiet = grey(85);  // secondary text
inline constexpr Ink kThin = grey(150);  // thin rules, never text
inline constexpr Ink kTint = grey(238);  // ground of a header row

class PaperFlow {
 public:
  /// `running_title` heads every page after the first.
  PaperFlow(shop::Paper paper, std::string running_title);

  Page& page() { return pages_.back(); }
  double left() const { return left_; }
  double right() const { return left_ + kAreaWidth; }
  /// Distance that is left to the bottom of the area.
  double room() const { return y_ - bottom_; }
  /// The cursor: the top of what comes next.
  double y() const { return y_; }
  void down(double mm) { y_ -= mm; }

  /// Starts a new page unless `mm` are left; true when it did.
  bool need(double mm);
  /// Without the running title where the page brings a title of its own.
  void new_page(bool running_title = true);

  /// Page numbers are added here.
  std::vector<Page> finish() &&;

  /// A heading with a thin rule under it; 8 mm high.
  void heading(const std::string& text);

 private:
  shop::Paper paper_;
  std::string running_title_;
  std::vector<Page> pages_;
  double left_ = 0;
  double bottom_ = 0;
  double y_ = 0;
};

/// Text style of a paragraph; leading is the distance of baselines as a multiple of the size.
struct TextStyle {
  double size_mm = 3.1;
  Face face = Face::regular;
  Ink ink = kBlack;
  double leading = 1.35;
};

/// Draws wrapped text with its top at y; returns its height. With `page` null it only measures.
double paragraph(Page* page, const std::string& text, double x_mm, double y_mm, double width_mm,
                 const TextStyle& style);

}  // namespace frostcal::sheet
