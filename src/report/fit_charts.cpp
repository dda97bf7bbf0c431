#include "report/fit_charts.hpp"

#include <algorithm>
#include <cmath>

#include "errors/bug.hpp"
#include "report/axis.hpp"
#include "sheet/shown_number.hpp"

namespace frostcal::report {
namespace {

using sheet::Align;
using sheet::Face;
using sheet::Fill;
using sheet::grey;
using sheet::kBlack;
using sheet::kQuiet;
using sheet::kThin;
using sheet::Page;
using sheet::Point;
using sheet::Polyline;
using sheet::Rule;
using sheet::Text;

constexpr double kSmall = 2.5;

void label(Page& page, double x, double y, const std::string& text, Align align) {
  page.add(Text{{x, y}, kSmall, text, Face::regular, align, kBlack, 0});
}

}  // namespace

void draw_cut(Page& page, const ChanceCut& cut, double target, double x_mm, double y_mm, double width_mm,
              double height_mm) {
  const std::size_t n = cut.at.size();
  FROSTCAL_ASSERT(n >= 2 && cut.chance.size() == n && cut.low.size() == n && cut.high.size() == n,
                  "chance cut: sizes");
  const Axis across{cut.at.front(), cut.at.back(), true, x_mm + 8, width_mm - 10};
  const Axis up{0, 1, false, y_mm - height_mm + 8, height_mm - 10};
  std::vector<Point> band;
  std::vector<Point> line;
  for (std::size_t i = 0; i < n; ++i) {
    band.push_back({across.at(cut.at[i]), up.at(std::clamp(cut.high[i], 0.0, 1.0))});
    line.push_back({across.at(cut.at[i]), up.at(std::clamp(cut.chance[i], 0.0, 1.0))});
  }
  for (std::size_t i = n; i-- > 0;)
    band.push_back({across.at(cut.at[i]), up.at(std::clamp(cut.low[i], 0.0, 1.0))});
  page.add(Fill{band, grey(215), cut.axis + " interval"});
  const double left = across.start_mm;
  const double right = left + across.length_mm;
  page.add(Rule{{left, up.at(target)}, {right, up.at(target)}, 0.25, kQuiet, 1.2});
  const double best = std::clamp(cut.best, cut.at.front(), cut.at.back());
  page.add(Rule{{across.at(best), up.at(0)}, {across.at(best), up.at(1)}, 0.25, kBlack, 0});
  page.add(Polyline{line, 0.6, kBlack});
  page.frame(left, up.at(0), across.length_mm, up.length_mm, 0.2);
  for (const double tick : {0.0, 0.5, 1.0})
    label(page, left - 1.2, up.at(tick) - 0.9, sheet::shown_number(tick, 2), Align::right);
  for (const double tick : across.ticks(5)) {
    page.add(Rule{{across.at(tick), up.at(0) - 0.8}, {across.at(tick), up.at(0)}, 0.2, kBlack, 0});
    label(page, across.at(tick), up.at(0) - 3.4, sheet::shown_number(tick, 2), Align::centre);
  }
  for (const double value : cut.tried)
    if (value >= cut.at.front() && value <= cut.at.back())
      page.add(Rule{{across.at(value), up.at(0)}, {across.at(value), up.at(0) + 1.5}, 0.3, kBlack, 0});
  page.add(Text{
      {left + across.length_mm / 2, up.at(0) - 6.8}, 2.6, cut.axis, Face::regular, Align::centre, kQuiet, 0});
}

void draw_counts(Page& page, const GradeCounts& counts, double x_mm, double y_mm, double width_mm,
                 double height_mm) {
  const std::size_t n = counts.seen.size();
  FROSTCAL_ASSERT(n >= 1 && counts.expected.size() == n, "grade counts: sizes");
  double most = 1;
  for (std::size_t i = 0; i < n; ++i) most = std::max({most, counts.seen[i], counts.expected[i]});
  const Axis up{0, most * 1.15, false, y_mm - height_mm + 8, height_mm - 10};
  const double step = (width_mm - 10) / static_cast<double>(n);
  for (std::size_t i = 0; i < n; ++i) {
    const double middle = x_mm + 8 + (static_cast<double>(i) + 0.5) * step;
    const double half = std::min(4.0, step * 0.32);
    if (counts.seen[i] > 0)
      page.rectangle(middle - half, up.at(0), 2 * half, up.at(counts.seen[i]) - up.at(0), kThin, "seen");
    page.add(Rule{{middle - half - 1, up.at(counts.expected[i])},
                  {middle + half + 1, up.at(counts.expected[i])},
                  0.7,
                  kBlack,
                  0});
    label(page, middle, up.at(0) - 3.4, std::to_string(i), Align::centre);
    label(page, middle, up.at(std::max(counts.seen[i], counts.expected[i])) + 0.9,
          sheet::shown_number(counts.seen[i], 0), Align::centre);
  }
  page.add(Rule{{x_mm + 8, up.at(0)}, {x_mm + width_mm - 2, up.at(0)}, 0.2, kBlack, 0});
  page.add(Text{{x_mm + 8 + (width_mm - 10) / 2, up.at(0) - 6.8},
                2.6,
                counts.response + " grade",
                Face::regular,
                Align::centre,
                kQuiet,
                0});
}

}  // namespace frostcal::report
