#include "report/job_card.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "numerics/pi.hpp"
#include "report/page_head.hpp"
#include "sheet/caution_text.hpp"
#include "sheet/paper_flow.hpp"
#include "sheet/shown_number.hpp"
#include "shop/setting.hpp"
#include "table/job_estimate.hpp"
#include "textfile/phrases.hpp"

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

constexpr double kNotesHeight = 31;  // with their heading
constexpr double kGap = 0.8;         // under a caution
constexpr double kTallestPanel = 110;
constexpr double kLowestPanel = 40;
constexpr double kBeside = 62;      // what is said beside the panel, and the gap
constexpr double kRoundPanel = 21;  // heading, "neck" above, and what is left free below

// "0.93 (settled)"; "0.76 today, 0.95 when adopted (stale)".
std::string chance_words(const JobCard& job) {
  const std::string adopted = textfile::shown_chance(job.chance);
  const std::string status = " (" + job.status + ')';
  if (job.chance_today) {
    return textfile::shown_chance(*job.chance_today) + " today, " + adopted + " when adopted" + status;
  }
  if (job.status == "stale") return adopted + " when adopted, which no longer holds" + status;
  return adopted + status;
}

// "12 pieces: no reject among them 0.60, 0.9 rejects expected; 45.0 min with handling. Bring 16 bottles."
std::string batch_words(const JobCard& job) {
  if (job.pieces <= 1) return "";
  return " " + std::to_string(job.pieces) + " pieces: no reject among them " +
         textfile::shown_chance(job.no_reject) + ", " + sheet::shown_number(job.rejects, 1) +
         " rejects expected; " + table::hours_text(job.batch_seconds) + " with handling" +
         (job.bottles_to_bring == 0 ? ". More bottles are needed than is sensible: the chance is too low."
                                    : ". Bring " + std::to_string(job.bottles_to_bring) + " bottles.");
}

void draw_setting(PaperFlow& flow, const JobCard& job) {
  draw_figures(flow,
               {{"power %", shop::dial_text(job.setting.power_pct)},
                {"speed %", shop::dial_text(job.setting.speed_pct)},
                {"dpi", std::to_string(job.setting.dpi)},
                {"passes", std::to_string(job.setting.passes)},
                {job.setting.tone_pct < 100 ? "tone %, " + job.setting.screen : "tone %",
                 shop::dial_text(job.setting.tone_pct)}},
               11);
  const std::string text =
      "Chance of an acceptable piece " + chance_words(job) +
      (job.status == "stale" || !job.tolerance_pct ? "" : "; " + sheet::shown_drift(*job.tolerance_pct)) +
      ". Burn " + sheet::shown_duration(job.burn_seconds) + ", " + std::to_string(job.lines) + " lines" +
      (job.pieces > 1 ? " each." : ".") + batch_words(job) +
      (job.taper.empty() ? "" : " On this taper: " + job.taper + ".");
  flow.down(sheet::paragraph(&flow.page(), text, flow.left(), flow.y(), kAreaWidth,
                             {3.8, Face::regular, kBlack, 1.35}) +
            4);
}

/// Of the warnings of this job, in bold, and the cautions that always hold; draws nothing without a page.
double draw_cautions(sheet::Page* page, const JobCard& job, double x, double y, double size_mm) {
  double height = 0;
  const auto add = [&](const std::string& text, Face face) {
    height += sheet::paragraph(page, text, x, y - height, kAreaWidth, {size_mm, face, kBlack, 1.3}) + kGap;
  };
  for (const std::string& warning : job.warnings) add(warning, Face::bold);
  for (const std::string& caution : sheet::cautions(job.glass)) add(caution, Face::regular);
  return height;
}

/// How much of the way round is drawn, mm of glass.
double shown_round(const JobCard& job) {
  return std::min(numerics::kPi * job.vessel.diameter_mm(0), std::max(job.art_height_mm + 30, 60.0));
}

/// True, or as much smaller as the width asks for.
double largest_scale(const JobCard& job) {
  return std::min(1.0, (kAreaWidth - kBeside) / shown_round(job));
}

/// What the panel and the cautions share: the cautions as large as they can be with the panel true to scale,
/// and then the panel as high as they leave it.
struct Shares {
  double caution_mm = 0;
  double panel_mm = 0;
};

Shares share_room(const PaperFlow& flow, const JobCard& job) {
  constexpr double kHeading = 8;
  const double room = flow.room() - kRoundPanel - kHeading - 4 - kNotesHeight;
  const double wanted = std::min(kTallestPanel, job.vessel.panel_mm * largest_scale(job));
  Shares shares;
  for (const double size : {4.2, 3.9, 3.6, 3.3, 3.0, 2.7}) {
    shares.caution_mm = size;
    shares.panel_mm = room - draw_cautions(nullptr, job, 0, 0, size);
    if (shares.panel_mm >= wanted || (size <= 3.3 && shares.panel_mm >= kLowestPanel)) break;
  }
  shares.panel_mm = std::clamp(shares.panel_mm, std::min(wanted, kLowestPanel), wanted);
  return shares;
}

/// The panel upright, as the bottle stands, with the art's outline on it.
void draw_panel(PaperFlow& flow, const JobCard& job, double most_mm) {
  const double scale = std::min(largest_scale(job), most_mm / job.vessel.panel_mm);
  const double width = shown_round(job) * scale;
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
  const std::string text =
      "Art " + sheet::shown_length(job.art_width_mm, job.units) + " along the bottle, " +
      sheet::shown_length(job.art_height_mm, job.units) + " round it, on the panel's centre. " +
      "Neck to the " + shop::to_text(job.neck) + ". Diameter " +
      sheet::shown_diameter(job.vessel.diameter_mm(0), job.units) + "." +
      (scale < 1 ? " Drawn at " + sheet::shown_number(100 * scale, 0) + " %." : " Drawn true to scale.");
  sheet::paragraph(&flow.page(), text, x, flow.y(), flow.right() - x, {3.8, Face::regular, kBlack, 1.35});
  flow.down(height + 9);
}

void draw_notes(PaperFlow& flow) {
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
  draw_head(flow, job.glass.name,
            {"machine " + job.machine + ", vessel " + job.vessel.name, job.date + ", " + job.shop});
  flow.down(3);
  draw_setting(flow, job);
  const Shares shares = share_room(flow, job);
  draw_panel(flow, job, shares.panel_mm);
  flow.heading("Cautions");
  flow.down(draw_cautions(&flow.page(), job, flow.left(), flow.y(), shares.caution_mm) + 4);
  draw_notes(flow);
  std::vector<sheet::Page> pages = std::move(flow).finish();
  return std::move(pages.front());
}

}  // namespace frostcal::report
