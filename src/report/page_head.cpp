#include "report/page_head.hpp"

#include <algorithm>

#include "sheet/paper_flow.hpp"
#include "sheet/text_width.hpp"

namespace frostcal::report {

using sheet::Align;
using sheet::Face;
using sheet::kAreaWidth;
using sheet::kBlack;
using sheet::kQuiet;
using sheet::Text;

void draw_head(sheet::PaperFlow& flow, const std::string& name, const std::vector<std::string>& beside) {
  constexpr double kNameWidth = 115;
  const double size = sheet::fitting_size(name, Face::bold, kNameWidth, 7.5, 4);
  constexpr double kBeside = 3;
  constexpr double kBesideWidth = 70;
  flow.page().add(Text{{flow.left(), flow.y() - 6},
                       size,
                       sheet::shorten(name, Face::bold, size, kNameWidth),
                       Face::bold,
                       Align::left,
                       kBlack,
                       0});
  double y = flow.y() - 2.6;
  for (const std::string& line : beside) {
    flow.page().add(Text{{flow.right(), y},
                         kBeside,
                         sheet::shorten(line, Face::regular, kBeside, kBesideWidth),
                         Face::regular,
                         Align::right,
                         kQuiet,
                         0});
    y -= 4.2;
  }
  flow.down(11);
}

void draw_figures(sheet::PaperFlow& flow, const std::vector<Figure>& figures, double value_mm) {
  const double name_mm = 2.1 + 0.1 * value_mm;
  const double base = name_mm + 0.9 * value_mm;
  const double step = std::min(38.0, kAreaWidth / static_cast<double>(figures.size()));
  constexpr double kSmallest = 1.9;
  constexpr double kApart = 6;  // of two values: numbers must not run into one another
  double size = value_mm;
  for (const Figure& figure : figures)
    size = sheet::fitting_size(figure.value, Face::bold, step - kApart, size, kSmallest);
  double x = flow.left();
  for (const Figure& figure : figures) {
    const double name_size =
        sheet::fitting_size(figure.name, Face::regular, step - 2, name_mm, std::min(name_mm, kSmallest));
    flow.page().add(Text{{x, flow.y() - name_mm},
                         name_size,
                         sheet::shorten(figure.name, Face::regular, name_size, step - 2),
                         Face::regular,
                         Align::left,
                         kQuiet,
                         0});
    flow.page().add(Text{{x, flow.y() - base}, size, figure.value, Face::bold, Align::left, kBlack, 0});
    x += step;
  }
  flow.down(base + 0.6 * value_mm - 0.8);
}

}  // namespace frostcal::report
