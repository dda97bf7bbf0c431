#include "report/grader_table.hpp"

#include <algorithm>
#include <cmath>

#include "report/finding_text.hpp"
#include "sheet/paper_flow.hpp"
#include "sheet/shown_number.hpp"
#include "sheet/text_width.hpp"

namespace frostcal::report {
namespace {

using sheet::Align;
using sheet::Face;
using sheet::kAreaWidth;
using sheet::PaperFlow;
using sheet::Text;

constexpr double kLine = 4.6;
constexpr double kSize = 2.9;
// Left edges of the columns, from the left of the area.
constexpr double kSwatches = 58;
constexpr double kFrost = 76;
constexpr double kChipping = 118;
constexpr double kDifference = 160;

struct Cells {
  std::string who;
  std::string swatches;
  std::string frost;
  std::string chipping;
  std::string difference;
};

std::string count_text(double pairs) {
  const double whole = std::round(pairs);
  return sheet::fixed_number(pairs, std::abs(pairs - whole) < 1e-9 ? 0 : 1);
}

std::string kappa_text(const grades::Kappa& kappa) {
  if (kappa.pairs <= 0) return "none graded";
  if (kappa.pairs < kLeastKappaPairs) return "too few";
  if (!kappa.defined) return "one grade only";
  return sheet::fixed_number(kappa.kappa, 2) + " (" + sheet::fixed_number(kappa.low, 2) + " to " +
         sheet::fixed_number(kappa.high, 2) + ")";
}

std::string difference_text(const grades::GraderAgreement& pair) {
  const auto signed_number = [](double value) {
    return (value > 0 ? "+" : "") + sheet::fixed_number(value, 1);
  };
  return signed_number(pair.frost_difference) + " / " + signed_number(pair.chipping_difference);
}

void draw_row(PaperFlow& flow, const Cells& cells, Face face, const sheet::Ink& ink) {
  flow.need(kLine);
  const double y = flow.y() - 3.2;
  const auto put = [&](double x, const std::string& text, double width) {
    flow.page().add(Text{
        {flow.left() + x, y}, kSize, sheet::shorten(text, face, kSize, width), face, Align::left, ink, 0});
  };
  put(0, cells.who, kSwatches - 2);
  put(kSwatches, cells.swatches, kFrost - kSwatches - 2);
  put(kFrost, cells.frost, kChipping - kFrost - 2);
  put(kChipping, cells.chipping, kDifference - kChipping - 2);
  put(kDifference, cells.difference, kAreaWidth - kDifference);
  flow.down(kLine);
}

std::string apart_text(const GraderTable& table) {
  constexpr std::size_t kShown = 8;
  std::string ids;
  std::size_t count = 0;
  for (const grades::GraderAgreement& pair : table.pairs) {
    for (const std::string& swatch : pair.apart) {
      if (++count <= kShown) ids += (ids.empty() ? "" : ", ") + swatch;
    }
  }
  if (count == 0) return "";
  if (count > kShown) ids += " and " + std::to_string(count - kShown) + " more";
  return "Two or more grades apart, to be looked at together: " + ids + ". ";
}

}  // namespace

void draw_grader_table(PaperFlow& flow, const GraderTable& table) {
  if (table.pairs.empty() && table.repeats.empty()) return;
  const sheet::TextStyle plain{kSize, Face::regular, sheet::kBlack, 1.35};
  const double rows = static_cast<double>(table.pairs.size() + table.repeats.size() + 1);
  flow.need(std::min(8 + rows * kLine + 10, 60.0));
  flow.heading("How the graders agree");
  draw_row(flow, {"graders", "swatches", "kappa of frost", "kappa of chipping", "second gives"},
           Face::regular, sheet::kQuiet);
  for (const grades::GraderAgreement& pair : table.pairs) {
    draw_row(flow,
             {pair.first + ", " + pair.second, count_text(std::max(pair.frost.pairs, pair.chipping.pairs)),
              kappa_text(pair.frost), kappa_text(pair.chipping), difference_text(pair)},
             Face::regular, sheet::kBlack);
  }
  for (const grades::GraderConsistency& repeat : table.repeats) {
    draw_row(
        flow,
        {repeat.grader + ", over repeats", count_text(std::max(repeat.frost.pairs, repeat.chipping.pairs)),
         kappa_text(repeat.frost), kappa_text(repeat.chipping), ""},
        Face::regular, sheet::kBlack);
  }
  flow.down(1);
  const std::string text =
      apart_text(table) + table.cost + (table.cost.empty() ? "" : " ") +
      "Kappa, quadratic weights, with its 90\u00a0% interval: 1 is full agreement, 0 what chance "
      "alone would give; shown from " +
      std::to_string(kLeastKappaPairs) +
      " swatches on. Last column: how much more frost / chipping the second gives.";
  flow.need(sheet::paragraph(nullptr, text, 0, 0, kAreaWidth, plain) + 2);
  flow.down(sheet::paragraph(&flow.page(), text, flow.left(), flow.y(), kAreaWidth, plain) + 3);
}

}  // namespace frostcal::report
