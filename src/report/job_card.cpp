#include "report/job_card.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "numerics/pi.hpp"
#include "sheet/caution_text.hpp"
#include "sheet/shown_number.hpp"
#include "sheet/text_width.hpp"

namespace frostcal::report {
namespace {

using sheet::Align;
using sheet::Face;
using sheet::kAreaWidth;
using sheet::kBlack;
using sheet::kQuiet;
using sheet::kThin;
using sheet::PaperFlow;
using sheet::Rule;
using sheet::Text;
using sheet::TextStyle;

void draw_title(PaperFlow& flow, const JobCard& job) {
  flow.page().add(Text{{flow.left(), flow.y() - 6},
                       7.5,
                       sheet::shorten(job.glass.name, Face::bold, 7.5, 115),
                       Face::bold,
                       Align::left,
                       kBlack,
                       0});
  const std::string what = "machine " + job.machine + ", vessel " + job.vessel.name;
  flow.page().add(Text{{flow.right(), flow.y() - 2.6},
                       3,
                       sheet::shorten(what, Face::regular, 3, 70),
                       Face::regular,
                       Align::right,
                       kBlack,
                       0});
  flow.page().add(Text{{flow.right(), flow.y() - 7},
                       3,
                       sheet::shorten(job.shop, Face::regular, 3, 48) + ", " + job.date,
                       Face::regular,
                       Align::right,
                       kQuiet,
                       0});
  flow.down(15);
}

void draw_figures(PaperFlow& flow, const JobCard& job) {
  std::vector<std::pair<std::string, std::string>> figures{
      {"power %", sheet::shown_number(job.setting.power_pct, 1)},
      {"speed %", sheet::shown_number(job.setting.speed_pct, 1)},
      {"dpi", std::to_string(job.setting.dpi)},
      {"passes", std::to_string(job.setting.passes)},
      {job.setting.tone_pct < 100 ? "tone %, " + job.setting.screen : "tone %",
       sheet::shown_number(job.setting.tone_pct, 1)}};
  for (std::size_t i = 0; i < figures.size(); ++i) {
    const double x = flow.left() + 38 * static_cast<double>(i);
    flow.page().add(Text{{x, flow.y() - 3}, 3.2, figures[i].first, Face::regular, Align::left, kQuiet, 0});
    flow.page().add(Text{{x, flow.y() - 13}, 11, figures[i].second, Face::bold, Align::left, kBlack, 0});
  }
  flow.down(19);
  const std::string text = "Chance of an acceptable piece " + sheet::shown_chance(job.chance) + " (" +
                           job.status + "); " + sheet::shown_drift(job.tolerance_pct) + ". Burn " +
                           sheet::shown_duration(job.burn_seconds) + ", " + std::to_string(job.lines) +
                           " lines.";
  flow.down(sheet::paragraph(&flow.page(), text, flow.left(), flow.y(), kAreaWidth,
                             {3.4, Face::regular, kBlack, 1.35}) +
            4);
}

/// The panel upright, as the bottle stands, with the art's outline on it.
void draw_panel(PaperFlow& flow, const JobCard& job) {
  const double girth = numerics::kPi * job.vessel.diameter_mm(0);
  const double shown = std::min(girth, std::max(job.art_height_mm + 30, 60.0));
  const double scale = std::min({1.0, 110 / job.vessel.panel_mm, kAreaWidth / shown});
  const double width = shown * scale;
  const double height = job.vessel.panel_mm * scale;
  flow.heading("Where it goes");
  const double left = flow.left();
  const double bottom = flow.y() - height - 4;
  flow.page().add(Text{
      {left + width / 2, bottom + height + 1}, 2.6, "\u2191 neck", Face::regular, Align::centre, kQuiet, 0});
  flow.page().frame(left, bottom, width, height, 0.2, kThin);
  const double w = job.art_height_mm * scale;
  const double h = job.art_width_mm * scale;
  flow.page().frame(left + (width - w) / 2, bottom + (height - h) / 2, w, h, 0.4);
  const double x = left + width + 8;
  if (kAreaWidth - width - 8 > 40) {
    const std::string text =
        "Art " + sheet::shown_length(job.art_width_mm, job.units) + " along the bottle, " +
        sheet::shown_length(job.art_height_mm, job.units) + " round it, on the panel's centre. " +
        "Neck to the " + (job.neck == shop::Side::left ? "left" : "right") + ". Diameter " +
        sheet::shown_length(job.vessel.diameter_mm(0), job.units) + "." +
        (scale < 1 ? " Drawn at " + sheet::shown_number(100 * scale, 0) + " %." : " Drawn true to scale.");
    sheet::paragraph(&flow.page(), text, x, flow.y(), flow.right() - x, {3.1, Face::regular, kBlack, 1.35});
  }
  flow.down(height + 9);
}

void draw_notes(PaperFlow& flow) {
  flow.need(30);
  flow.heading("How it came out");
  for (const char* what : {"frost, chipping", "a day later", "note, name, date"}) {
    flow.page().add(Text{{flow.left(), flow.y() - 4}, 3.1, what, Face::regular, Align::left, kBlack, 0});
    flow.page().add(Rule{{flow.left() + 34, flow.y() - 4.6}, {flow.right(), flow.y() - 4.6}, 0.2, kQuiet, 0});
    flow.down(7.5);
  }
}

}  // namespace

sheet::Page job_card(const JobCard& job) {
  PaperFlow flow(job.paper, job.glass.name);
  draw_title(flow, job);
  draw_figures(flow, job);
  draw_panel(flow, job);
  flow.heading("Cautions");
  for (const std::string& warning : job.warnings)
    flow.down(sheet::paragraph(&flow.page(), warning, flow.left(), flow.y(), kAreaWidth,
                               {2.9, Face::bold, kBlack, 1.3}) +
              0.6);
  for (const std::string& caution : sheet::cautions(job.glass))
    flow.down(sheet::paragraph(&flow.page(), caution, flow.left(), flow.y(), kAreaWidth,
                               {2.9, Face::regular, kBlack, 1.3}) +
              0.6);
  flow.down(4);
  draw_notes(flow);
  std::vector<sheet::Page> pages = std::move(flow).finish();
  return std::move(pages.front());
}

}  // namespace frostcal::report
