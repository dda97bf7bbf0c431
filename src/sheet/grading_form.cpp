#include "sheet/grading_form.hpp"

#include <algorithm>

#include "sheet/paper_flow.hpp"

namespace frostcal::sheet {
namespace {

constexpr double kFormRow = 6;
constexpr double kFormHead = 8;
constexpr double kSignature = 14;
constexpr double kBoxWidth = 8;
constexpr double kBoxHeight = 4.8;
constexpr double kIdWidth = 10;
constexpr double kGutter = 6;
constexpr double kWordSize = 3.0;
constexpr double kWordRow = 4.2;

std::size_t rows_of(std::size_t count, int columns) {
  return (count + static_cast<std::size_t>(columns) - 1) / static_cast<std::size_t>(columns);
}

template <std::size_t N>
double words(Page* page, const std::string& title, const std::array<std::string, N>& labels, double x,
             double y, double width) {
  if (page != nullptr) page->add(Text{{x, y - 3.2}, 3.1, title, Face::bold, Align::left, kBlack, 0});
  double height = 5;
  for (std::size_t grade = 0; grade < N; ++grade) {
    if (page != nullptr)
      page->add(Text{{x + 3, y - height - kWordSize},
                     kWordSize,
                     std::to_string(grade),
                     Face::bold,
                     Align::right,
                     kBlack,
                     0});
    const double text =
        paragraph(page, labels[grade], x + 5, y - height, width - 6, {kWordSize, Face::regular, kBlack, 1.3});
    height += std::max(kWordRow, text + 0.3);
  }
  return height;
}

double draw_words(Page* page, const shop::GradeScale& scale, double x, double y) {
  const double half = kAreaWidth / 2;
  const double frost = words(page, "Frost", scale.frost, x, y, half - 4);
  const double chipping = words(page, "Chipping", scale.chipping, x + half, y, half);
  return std::max(frost, chipping);
}

void signature(Page& page, double x, double y, double width, const std::string& what) {
  page.add(Text{{x, y}, 2.8, what, Face::regular, Align::left, kBlack, 0});
  const double start = x + 31;
  page.add(Rule{{start, y - 0.6}, {x + width * 0.66, y - 0.6}, 0.2, kQuiet, 0});
  page.add(Text{{x + width * 0.66 + 2, y}, 2.8, "on", Face::regular, Align::left, kBlack, 0});
  page.add(Rule{{x + width * 0.66 + 7, y - 0.6}, {x + width, y - 0.6}, 0.2, kQuiet, 0});
}

}  // namespace

double grade_words_height_mm(const shop::GradeScale& scale) {
  return draw_words(nullptr, scale, 0, 0) + 2;
}

void draw_grade_words(PaperFlow& flow, const shop::GradeScale& scale) {
  flow.down(draw_words(&flow.page(), scale, flow.left(), flow.y()) + 2);
}

double form_height_mm(std::size_t count, int columns) {
  return kFormHead + static_cast<double>(rows_of(count, columns)) * kFormRow + kSignature;
}

void draw_form(Page& page, const std::vector<std::string>& ids, double x_mm, double y_mm, double width_mm,
               int columns) {
  const std::size_t rows = rows_of(ids.size(), columns);
  const double width = (width_mm - (columns - 1) * kGutter) / columns;
  const double boxes[] = {kIdWidth, kIdWidth + kBoxWidth + 2, kIdWidth + 2 * (kBoxWidth + 2)};
  const char* titles[] = {"frost", "chips", "next day"};
  for (int column = 0; column < columns; ++column) {
    if (static_cast<std::size_t>(column) * rows >= ids.size()) break;
    const double x = x_mm + column * (width + kGutter);
    for (int i = 0; i < 3; ++i)
      page.add(Text{{x + boxes[i] + kBoxWidth / 2, y_mm - 5.4},
                    2.5,
                    titles[i],
                    Face::regular,
                    Align::centre,
                    kQuiet,
                    0});
    page.add(
        Text{{x + boxes[2] + kBoxWidth + 4, y_mm - 5.4}, 2.5, "note", Face::regular, Align::left, kQuiet, 0});
    for (std::size_t row = 0; row < rows; ++row) {
      const std::size_t index = static_cast<std::size_t>(column) * rows + row;
      if (index >= ids.size()) break;
      const double y = y_mm - kFormHead - static_cast<double>(row) * kFormRow;
      page.add(Text{{x, y - 3.6}, 3.4, ids[index], Face::bold, Align::left, kBlack, 0});
      for (const double box : boxes) page.frame(x + box, y - kBoxHeight, kBoxWidth, kBoxHeight, 0.2);
      page.add(Rule{
          {x + boxes[2] + kBoxWidth + 2.5, y - kBoxHeight}, {x + width, y - kBoxHeight}, 0.15, kThin, 0});
    }
  }
  const double y = y_mm - kFormHead - static_cast<double>(rows) * kFormRow - 4;
  signature(page, x_mm, y, width_mm, "Graded by");
  signature(page, x_mm, y - 7, width_mm, "Next-day look by");
}

}  // namespace frostcal::sheet
