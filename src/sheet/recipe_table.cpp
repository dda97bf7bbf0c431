#include "sheet/recipe_table.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <tuple>

#include "errors/bug.hpp"
#include "sheet/paper_flow.hpp"
#include "sheet/screening.hpp"
#include "sheet/shown_number.hpp"
#include "sheet/text_width.hpp"
#include "shop/setting.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::sheet {
namespace {

constexpr double kSize = 3.1;
constexpr double kRow = 4.7;
constexpr double kGroup = 6.2;
constexpr double kHead = 6;
constexpr double kSwatchesAt = 113;

struct Column {
  const char* title;
  double right;  // numbers end here, from the left edge of the area
};
constexpr Column kColumns[] = {{"power %", 58}, {"speed %", 76}, {"passes", 92}, {"tone %", 107}};

std::string carried_by(const RecipeFill& fill, const BurnSheet& sheet) {
  std::string text = textfile::joined(fill.swatches, " ");
  if (!fill.marks || (sheet.marks.texts.empty() && sheet.marks.shapes.empty())) return text;
  const std::string marks = sheet.plan.names_bottle ? "ids and marks" : "ids";
  return text.empty() ? marks : text + "  + " + marks;
}

std::vector<std::string> carried_lines(const RecipeFill& fill, const BurnSheet& sheet) {
  return wrap(carried_by(fill, sheet), Face::regular, kSize, kAreaWidth - kSwatchesAt);
}

double row_height(const std::vector<std::string>& lines) {
  return kRow + (static_cast<double>(std::max<std::size_t>(1, lines.size())) - 1) * kSize * 1.3;
}

void number(Page& page, double x, double y, const std::string& text) {
  page.add(Text{{x, y}, kSize, text, Face::regular, Align::right, kBlack, 0});
}

void draw_head(PaperFlow& flow) {
  Page& page = flow.page();
  const double y = flow.y() - 3.2;
  const auto head = [&](double x, const std::string& text, Align align) {
    page.add(Text{{flow.left() + x, y}, 2.7, text, Face::regular, align, kQuiet, 0});
  };
  head(1, "fill", Align::left);
  for (const Column& column : kColumns) head(column.right, column.title, Align::right);
  head(kSwatchesAt, "swatches", Align::left);
  flow.down(kHead - 1.2);
}

constexpr double kGroupSize = 3.2;

/// Where there is no room for all of it, the names of the bottle and the screen are cut and nothing of what
/// must be done.
std::string group_text(const BurnSheet& sheet, bool continued, double room) {
  constexpr double kScreen = 45;
  const std::string screen =
      shorten(sheet.plan.fills.front().setting.screen, Face::regular, kGroupSize, kScreen);
  std::string text =
      std::string(sheet.shelved ? " (used)" : "") + "   " + std::to_string(sheet.plan.dpi) + " dpi";
  const bool toned = std::any_of(sheet.plan.fills.begin(), sheet.plan.fills.end(),
                                 [](const RecipeFill& fill) { return fill.setting.tone_pct < 100; });
  const bool dots = std::any_of(sheet.plan.fills.begin(), sheet.plan.fills.end(),
                                [](const RecipeFill& fill) { return fill.dots_here; });
  if (dots)
    text += "   tone drawn as dots (" + screen + "): screening off";
  else if (toned)
    text += "   screen " + screen;
  if (continued) text += "   (continued)";
  const double left = room - text_width_mm("on " + text, Face::regular, kGroupSize);
  return "on " + shorten(sheet.plan.bottle, Face::regular, kGroupSize, left) + text;
}

void draw_group(PaperFlow& flow, const BurnSheet& sheet, bool continued) {
  Page& page = flow.page();
  page.rectangle(flow.left(), flow.y() - 5.2, kAreaWidth, 5.2, kTint);
  const double y = flow.y() - 3.8;
  const std::string name = "Burn " + std::to_string(sheet.plan.burn);
  page.add(Text{{flow.left() + 1, y}, kGroupSize, name, Face::bold, Align::left, kBlack, 0});
  const std::string time = shown_duration(sheet.seconds);
  const double room = kAreaWidth - 24 - text_width_mm(time, Face::bold, kGroupSize);
  page.add(Text{{flow.left() + 20, y},
                kGroupSize,
                group_text(sheet, continued, room),
                Face::regular,
                Align::left,
                kBlack,
                0});
  page.add(Text{{flow.right() - 1, y}, kGroupSize, time, Face::bold, Align::right, kBlack, 0});
  flow.down(kGroup);
}

void draw_chip(Page& page, double x, double y, const RecipeFill& fill) {
  page.add(Text{{x + 5, y}, kSize, std::to_string(fill.number), Face::bold, Align::right, kBlack, 0});
  page.rectangle(x + 6.5, y - 0.6, 7, 3.4, fill.ink);
  page.frame(x + 6.5, y - 0.6, 7, 3.4, 0.15);
  const bool is_grey = fill.ink.red == fill.ink.green && fill.ink.green == fill.ink.blue;
  const std::string name = fill.ink == kBlack ? "black"
                           : is_grey          ? "grey " + std::to_string(fill.ink.red)
                                              : hex_text(fill.ink);
  page.add(Text{{x + 15.5, y}, 2.9, name, Face::regular, Align::left, kBlack, 0});
}

void draw_row(PaperFlow& flow, const RecipeFill& fill, const std::vector<std::string>& lines) {
  Page& page = flow.page();
  const double y = flow.y() - 3.3;
  draw_chip(page, flow.left(), y, fill);
  const std::string values[] = {shop::dial_text(fill.setting.power_pct),
                                shop::dial_text(fill.setting.speed_pct), std::to_string(fill.setting.passes),
                                shop::dial_text(fill.setting.tone_pct)};
  for (std::size_t i = 0; i < 4; ++i) number(page, flow.left() + kColumns[i].right, y, values[i]);
  double line_y = y;
  for (const std::string& line : lines) {
    page.add(Text{{flow.left() + kSwatchesAt, line_y}, kSize, line, Face::regular, Align::left, kBlack, 0});
    line_y -= kSize * 1.3;
  }
  const double height = row_height(lines);
  page.add(Rule{{flow.left(), flow.y() - height}, {flow.right(), flow.y() - height}, 0.1, kThin, 0});
  flow.down(height);
}

/// How coarse the dots that are drawn here will look.
void draw_dot_notes(PaperFlow& flow, const std::vector<BurnSheet>& sheets) {
  constexpr int kSide = 64;
  std::set<std::tuple<std::string, double, int>> kinds;
  for (const BurnSheet& sheet : sheets)
    for (const RecipeFill& fill : sheet.plan.fills)
      if (fill.dots_here) kinds.emplace(fill.setting.screen, fill.setting.tone_pct, sheet.plan.dpi);
  for (const auto& [screen, tone, dpi] : kinds) {
    const auto known = screen_named(screen);
    FROSTCAL_ASSERT(known.has_value(), "unknown screen on a run sheet");
    const DotPattern pattern = screened(*known, tone / 100, kSide, kSide);
    const double sparse = std::min(pattern.tone(), 1 - pattern.tone());
    if (sparse <= 0) continue;
    const std::string text = "Dots at " + std::to_string(dpi) + " dpi and tone " + shop::dial_text(tone) +
                             " %: " + (pattern.tone() > 0.5 ? "gaps " : "dots ") +
                             shown_number(1000 * shop::pitch_mm(dpi) / std::sqrt(sparse), 0) +
                             " \u00b5m apart; " + shown_number(100 * low_frequency_share(pattern), 1) +
                             " % of the pattern is coarse clumps, which can show as grain.";
    flow.need(5);
    flow.down(paragraph(&flow.page(), text, flow.left() + 1, flow.y(), kAreaWidth - 1,
                        {2.8, Face::regular, kQuiet, 1.3}) +
              1);
  }
}

}  // namespace

void draw_recipe_table(PaperFlow& flow, const std::vector<BurnSheet>& sheets) {
  constexpr double kHeading = 8;
  flow.need(kHeading + kHead + kGroup + 2 * kRow);
  flow.heading("What to type");
  draw_head(flow);
  for (const BurnSheet& sheet : sheets) {
    if (flow.need(kGroup + 2 * kRow)) draw_head(flow);
    draw_group(flow, sheet, false);
    for (const RecipeFill& fill : sheet.plan.fills) {
      const std::vector<std::string> lines = carried_lines(fill, sheet);
      if (lines.empty()) continue;  // a row for marks that found no room
      if (flow.need(row_height(lines))) {
        draw_head(flow);
        draw_group(flow, sheet, true);
      }
      draw_row(flow, fill, lines);
    }
    flow.down(1);
  }
  draw_dot_notes(flow, sheets);
}

}  // namespace frostcal::sheet
