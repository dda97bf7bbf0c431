#include "report/fit_report.hpp"

#include <algorithm>
#include <utility>

#include "report/fit_charts.hpp"
#include "report/page_head.hpp"
#include "sheet/paper_flow.hpp"
#include "sheet/shown_number.hpp"
#include "shop/burn_time.hpp"
#include "shop/setting.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::report {
namespace {

using sheet::Align;
using sheet::Face;
using sheet::kAreaWidth;
using sheet::kBlack;
using sheet::kQuiet;
using sheet::PaperFlow;
using sheet::Text;
using sheet::TextStyle;

std::vector<Figure> setting_figures(const choice::Decision& best) {
  std::vector<Figure> figures{{"power", shop::dial_text(best.setting.power_pct) + " %"},
                              {"speed", shop::dial_text(best.setting.speed_pct) + " %"},
                              {"dpi", std::to_string(best.setting.dpi)}};
  if (best.setting.tone_pct < 100)
    figures.push_back({"tone, " + best.setting.screen, shop::dial_text(best.setting.tone_pct) + " %"});
  if (best.setting.passes > 1) figures.push_back({"passes", std::to_string(best.setting.passes)});
  figures.push_back({"chance", textfile::shown_chance(best.chance)});
  return figures;
}

void draw_best(PaperFlow& flow, const ReportHead& head, const GlassReport& glass) {
  const TextStyle plain{3.0, Face::regular, kBlack, 1.35};
  const auto& best = glass.choice.best;
  if (!best) {
    flow.down(sheet::paragraph(&flow.page(), "No setting can be named yet: there is nothing to go by.",
                               flow.left(), flow.y(), kAreaWidth, plain) +
              3);
    return;
  }
  draw_figures(flow, setting_figures(*best), 7);
  std::string text = "90 % interval of the chance " + textfile::shown_chance(best->chance_low) + " to " +
                     textfile::shown_chance(best->chance_high) + "; target " +
                     textfile::shown_bar(head.target) + " for " + head.bar + "; " +
                     sheet::shown_drift(best->tolerance_pct) + ". " +
                     sheet::shown_number(shop::area_minutes(best->seconds_per_cm2, head.units), 1) +
                     (head.units == shop::LengthUnit::mm ? " min per 10 cm\u00b2 of art 40 mm high."
                                                         : " min per in\u00b2 of art 1.6 in high.");
  if (!glass.limited_by.empty()) text += " Limited by: " + glass.limited_by + ".";
  if (best->beyond_tried) text += " It lies beyond what was tried.";
  flow.down(sheet::paragraph(&flow.page(), text, flow.left(), flow.y(), kAreaWidth, plain) + 2.5);
}

void draw_findings(PaperFlow& flow, const GlassReport& glass) {
  const TextStyle plain{3.0, Face::regular, kBlack, 1.35};
  for (const std::string& finding : glass.choice.findings) {
    flow.need(sheet::paragraph(nullptr, finding, 0, 0, kAreaWidth - 5, plain) + 1);
    flow.page().add(Text{{flow.left(), flow.y() - 3}, 3, "\u2013", Face::regular, Align::left, kBlack, 0});
    flow.down(sheet::paragraph(&flow.page(), finding, flow.left() + 4, flow.y(), kAreaWidth - 5, plain) +
              0.8);
  }
  if (!glass.choice.findings.empty()) flow.down(2);
}

void draw_maps(PaperFlow& flow, const ReportHead& head, const GlassReport& glass) {
  if (glass.maps.empty()) return;
  const bool single = glass.maps.size() == 1;
  const double width = single ? 112 : 92;
  const double height = single ? 80 : 65.5;
  flow.need(height + 20);
  flow.heading("Chance over power and speed");
  for (std::size_t i = 0; i < glass.maps.size(); i += 2) {
    flow.need(height + 2);
    for (std::size_t k = i; k < std::min(i + 2, glass.maps.size()); ++k)
      draw_chance_map(flow.page(), glass.maps[k], head.target,
                      flow.left() + static_cast<double>(k - i) * (kAreaWidth - width), flow.y(), width,
                      height);
    flow.down(height + 2);
  }
  flow.need(10);
  draw_chance_legend(flow.page(), flow.left() + 11, flow.y());
  const bool hidden =
      std::any_of(glass.maps.begin(), glass.maps.end(), [](const ChanceMap& map) { return map.others > 0; });
  sheet::paragraph(
      &flow.page(),
      std::string("Boxes: frost/chipping as graded. Heavy line: the target. Ring with cross: best "
                  "setting.") +
          (hidden ? " Swatches of other tones or passes are not shown." : ""),
      flow.left() + 78, flow.y(), kAreaWidth - 78, {2.7, Face::regular, kBlack, 1.3});
  flow.down(11);
}

void draw_charts(PaperFlow& flow, const ReportHead& head, const GlassReport& glass) {
  constexpr double kHeight = 36;
  constexpr double kWidth = 62;
  if (!glass.cuts.empty()) {
    flow.need(kHeight + 8 + 2 + 5);
    flow.heading("Through the best setting");
    for (std::size_t i = 0; i < glass.cuts.size(); ++i) {
      if (i > 0 && i % 3 == 0) {
        flow.down(kHeight + 2);
        flow.need(kHeight);
      }
      draw_cut(flow.page(), glass.cuts[i], head.target, flow.left() + 64 * static_cast<double>(i % 3),
               flow.y(), kWidth, kHeight);
    }
    flow.down(kHeight + 1);
    flow.down(sheet::paragraph(&flow.page(),
                               "Line: chance. Grey: its 90 % interval. Dashes: the target. Upright: the best "
                               "setting. Short ticks: tried.",
                               flow.left(), flow.y(), kAreaWidth, {2.7, Face::regular, kQuiet, 1.3}) +
              3);
  }
  if (!glass.counts.empty()) {
    flow.need(kHeight + 14 + (glass.evidence.empty() ? 0 : 4));
    flow.heading("Grades seen and expected");
    for (std::size_t i = 0; i < glass.counts.size() && i < 2; ++i)
      draw_counts(flow.page(), glass.counts[i], flow.left() + 96 * static_cast<double>(i), flow.y(), 92,
                  kHeight);
    flow.down(kHeight + 1);
    flow.down(sheet::paragraph(&flow.page(),
                               "Bars and numbers: swatches seen. Lines: swatches expected by the surface.",
                               flow.left(), flow.y(), kAreaWidth, {2.7, Face::regular, kQuiet, 1.3}) +
              3);
  }
}

void draw_evidence(PaperFlow& flow, const GlassReport& glass) {
  if (glass.evidence.empty()) return;
  const TextStyle style{2.8, Face::regular, kBlack, 1.3};
  const std::string text = "Evidence: " + glass.evidence;
  flow.need(sheet::paragraph(nullptr, text, 0, 0, kAreaWidth, style));
  flow.down(sheet::paragraph(&flow.page(), text, flow.left(), flow.y(), kAreaWidth, style));
}

}  // namespace

std::vector<sheet::Page> fit_report(const ReportHead& head, const std::vector<GlassReport>& glasses) {
  PaperFlow flow(head.paper, head.shop + "   fit report   " + head.date);
  for (std::size_t i = 0; i < glasses.size(); ++i) {
    if (i > 0) flow.new_page(false);
    draw_head(flow, glasses[i].choice.glass,
              {"machine " + glasses[i].choice.machine + ", " + head.shop,
               head.date + ", frostcal " + head.version});
    draw_best(flow, head, glasses[i]);
    draw_findings(flow, glasses[i]);
    draw_maps(flow, head, glasses[i]);
    draw_charts(flow, head, glasses[i]);
    draw_grader_table(flow, glasses[i].graders);
    draw_evidence(flow, glasses[i]);
  }
  return std::move(flow).finish();
}

}  // namespace frostcal::report
