#include "sheet/paper_flow.hpp"

#include <utility>

#include "errors/bug.hpp"
#include "sheet/text_width.hpp"

namespace frostcal::sheet {

PaperSize size_of(shop::Paper paper) {
  return paper == shop::Paper::a4 ? PaperSize{210, 297} : PaperSize{215.9, 279.4};
}

PaperFlow::PaperFlow(shop::Paper paper, std::string running_title)
    : paper_(paper), running_title_(std::move(running_title)) {
  new_page();
}

void PaperFlow::new_page(bool running_title) {
  const PaperSize size = size_of(paper_);
  pages_.emplace_back(size.width_mm, size.height_mm);
  left_ = (page().width_mm() - kAreaWidth) / 2;
  bottom_ = (page().height_mm() - kAreaHeight) / 2;
  y_ = bottom_ + kAreaHeight;
  if (pages_.size() == 1 || !running_title) return;
  page().add(Text{{left_, y_ - 3},
                  3,
                  shorten(running_title_, Face::regular, 3, kAreaWidth),
                  Face::regular,
                  Align::left,
                  kQuiet,
                  0});
  down(9);
}

bool PaperFlow::need(double mm) {
  FROSTCAL_ASSERT(mm <= kAreaHeight - 9, "a block higher than a page");
  if (room() >= mm) return false;
  new_page();
  return true;
}

std::vector<Page> PaperFlow::finish() && {
  if (pages_.size() > 1)
    for (std::size_t i = 0; i < pages_.size(); ++i)
      pages_[i].add(Text{{right(), bottom_ - 4},
                         3,
                         "page " + std::to_string(i + 1) + " of " + std::to_string(pages_.size()),
                         Face::regular,
                         Align::right,
                         kQuiet,
                         0});
  return std::move(pages_);
}

void PaperFlow::heading(const std::string& text) {
  page().add(Text{{left_, y_ - 4.2}, 3.8, text, Face::bold, Align::left, kBlack, 0});
  page().add(Rule{{left_, y_ - 5.8}, {right(), y_ - 5.8}, 0.25, kBlack, 0});
  down(8);
}

double paragraph(Page* page, const std::string& text, double x_mm, double y_mm, double width_mm,
                 const TextStyle& style) {
  const double step = style.size_mm * style.leading;
  double y = y_mm;
  for (const std::string& line : wrap(text, style.face, style.size_mm, width_mm)) {
    if (page != nullptr)
      page->add(Text{{x_mm, y - style.size_mm}, style.size_mm, line, style.face, Align::left, style.ink, 0});
    y -= step;
  }
  return y_mm - y;
}

}  // namespace frostcal::sheet
