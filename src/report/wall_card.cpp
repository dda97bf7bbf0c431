#include "report/wall_card.hpp"

#include <algorithm>

#include "sheet/caution_text.hpp"
#include "sheet/paper_flow.hpp"
#include "sheet/shown_number.hpp"
#include "sheet/text_width.hpp"
#include "shop/burn_time.hpp"
#include "shop/setting.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::report {
namespace {

using sheet::Align;
using sheet::Face;
using sheet::kBlack;
using sheet::kQuiet;
using sheet::kThin;
using sheet::kWhite;
using sheet::Page;
using sheet::Rule;
using sheet::Text;

// 259 x 190 mm is shared by A4 and Letter in landscape, with 10 mm of margin.
constexpr double kWidth = 259;
constexpr double kHeight = 190;
constexpr double kTitle = 13;
constexpr double kHead = 7;
constexpr double kRow = 16;       // at scale 1
constexpr double kLargest = 1.2;  // scale of the rows where few leave room: as wide as the columns allow
constexpr double kFoot = 36;
constexpr std::size_t kRowsPerPage = 8;
constexpr double kBig = 9;
constexpr double kSecond = 3.8;
constexpr double kCaution = 5.4;  // read from a metre away

// Right edges of the numbers, from the left edge.
constexpr double kPower = 110;
constexpr double kSpeed = 142;
constexpr double kDpi = 177;
constexpr double kChance = 212;
constexpr double kStatusAt = 219;

void draw_head(Page& page, const WallCardHead& head, double left, double top, std::size_t number,
               std::size_t count) {
  const double size = sheet::fitting_size(head.shop, Face::bold, 170, 8, 5.5);
  page.add(Text{{left, top - 7.5},
                size,
                sheet::shorten(head.shop, Face::bold, size, 170),
                Face::bold,
                Align::left,
                kBlack,
                0});
  std::string date = "settings of " + head.date;
  if (count > 1) date += ", card " + std::to_string(number) + " of " + std::to_string(count);
  date += head.units == shop::LengthUnit::mm ? "; minutes: art 40 mm high" : "; minutes: art 1.6 in high";
  page.add(Text{{left + kWidth, top - 7.5}, 4.2, date, Face::regular, Align::right, kQuiet, 0});
  const auto name = [&](double x, const std::string& text, Align align) {
    page.add(Text{{left + x, top - kTitle - 4.4}, 3.8, text, Face::regular, align, kQuiet, 0});
  };
  name(0, "glass", Align::left);
  name(kPower, "power %", Align::right);
  name(kSpeed, "speed %", Align::right);
  name(kDpi, "dpi", Align::right);
  name(kChance, "chance", Align::right);
  page.add(
      Rule{{left, top - kTitle - kHead + 0.6}, {left + kWidth, top - kTitle - kHead + 0.6}, 0.5, kBlack, 0});
}

/// Machine, tone and passes; where there is no room for all of it the machine's name is cut.
void draw_second_line(Page& page, const WallCardRow& row, double x, double y, double largest) {
  constexpr double kRoom = 136;  // up to the drift under the chance
  constexpr double kSmallest = 2.6;
  std::string rest;
  if (row.setting.tone_pct < 100)
    rest += ", tone " + shop::dial_text(row.setting.tone_pct) + " % " + row.setting.screen;
  if (row.setting.passes > 1) rest += ", " + std::to_string(row.setting.passes) + " passes";
  const double size = sheet::fitting_size(row.machine + rest, Face::regular, kRoom, largest, kSmallest);
  const double left = kRoom - sheet::text_width_mm(rest, Face::regular, size);
  page.add(Text{{x, y},
                size,
                sheet::shorten(row.machine, Face::regular, size, left) + rest,
                Face::regular,
                Align::left,
                kBlack,
                0});
}

/// What is typed stands in full, smaller where its column asks for it.
double dial_size(const WallCardRow& row, double largest) {
  constexpr double kPowerRoom = 42;
  constexpr double kSmallest = 3.4;
  double size =
      sheet::fitting_size(shop::dial_text(row.setting.power_pct), Face::bold, kPowerRoom, largest, kSmallest);
  size = sheet::fitting_size(shop::dial_text(row.setting.speed_pct), Face::bold, kSpeed - kPower - 5, size,
                             kSmallest);
  return sheet::fitting_size(std::to_string(row.setting.dpi), Face::bold, kDpi - kSpeed - 5, size, kSmallest);
}

void draw_status(Page& page, const std::string& status, double x, double y, double scale) {
  const double size = 4.2 * scale;
  const double high = size + 1.6;
  const double width = sheet::text_width_mm(status, Face::bold, size);
  if (status == "stale") {
    page.rectangle(x - 1, y - 1.5, width + 2, high, kBlack);
    page.add(Text{{x, y}, size, status, Face::bold, Align::left, kWhite, 0});
  } else {
    page.add(
        Text{{x, y}, size, status, status == "settled" ? Face::regular : Face::bold, Align::left, kBlack, 0});
    if (status != "settled") page.frame(x - 1, y - 1.5, width + 2, high, 0.35);
  }
}

void draw_row(Page& page, const WallCardRow& row, shop::LengthUnit units, double left, double top,
              double scale) {
  const double base = top - 8.6 * scale;
  const double below = base - 5.4 * scale;
  const double second = kSecond * scale;
  const std::string power = shop::dial_text(row.setting.power_pct);
  const double dials = dial_size(row, kBig * scale);
  const double name_room = std::min(88.0, kPower - 4 - sheet::text_width_mm(power, Face::bold, dials));
  const double size = sheet::fitting_size(row.glass, Face::bold, name_room, 7 * scale, 3.4);
  page.add(Text{{left, base},
                size,
                sheet::shorten(row.glass, Face::bold, size, name_room),
                Face::bold,
                Align::left,
                kBlack,
                0});
  draw_second_line(page, row, left, below, second);
  const auto big = [&](double right, const std::string& text) {
    page.add(Text{{left + right, base}, dials, text, Face::bold, Align::right, kBlack, 0});
  };
  big(kPower, power);
  big(kSpeed, shop::dial_text(row.setting.speed_pct));
  big(kDpi, std::to_string(row.setting.dpi));
  const bool stale = row.status == "stale";
  const std::string chance = (stale ? "was " : "") + textfile::shown_chance(row.chance);
  constexpr double kChanceWidth = kChance - kDpi - 3;
  page.add(Text{{left + kChance, base},
                sheet::fitting_size(chance, Face::regular, kChanceWidth, 7 * scale, kSecond),
                chance,
                Face::regular,
                Align::right,
                kBlack,
                0});
  page.add(Text{{left + kChance, below},
                second,
                stale ? "no longer holds" : sheet::shown_drift(row.tolerance_pct),
                Face::regular,
                Align::right,
                kBlack,
                0});
  draw_status(page, row.status, left + kStatusAt, base + 1, scale);
  page.add(Text{{left + kStatusAt, below},
                second,
                sheet::shown_number(shop::area_minutes(row.seconds_per_cm2, units), 1) +
                    (units == shop::LengthUnit::mm ? " min / 10 cm\u00b2" : " min / in\u00b2"),
                Face::regular,
                Align::left,
                kBlack,
                0});
  page.add(Rule{{left, top - kRow * scale}, {left + kWidth, top - kRow * scale}, 0.2, kThin, 0});
}

void draw_foot(Page& page, double left, double bottom) {
  const std::vector<std::string> lines = sheet::short_cautions();
  page.add(Rule{{left, bottom + kFoot - 3}, {left + kWidth, bottom + kFoot - 3}, 0.5, kBlack, 0});
  constexpr double kColumn = kWidth / 2 + 2;
  double heights[2] = {0, 0};
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const std::size_t column = i % 2;
    heights[column] += sheet::paragraph(&page, lines[i], left + static_cast<double>(column) * kColumn,
                                        bottom + kFoot - 4.5 - heights[column], kColumn - 6,
                                        {kCaution, Face::regular, kBlack, 1.25}) +
                       0.6;
  }
}

}  // namespace

std::vector<Page> wall_card(const WallCardHead& head, const std::vector<WallCardRow>& rows) {
  std::vector<Page> pages;
  const std::size_t count = std::max<std::size_t>(1, (rows.size() + kRowsPerPage - 1) / kRowsPerPage);
  const double on_page = static_cast<double>(std::clamp<std::size_t>(rows.size(), 1, kRowsPerPage));
  const double scale = std::min(kLargest, (kHeight - kTitle - kHead - kFoot - 4) / (kRow * on_page));
  for (std::size_t number = 0; number < count; ++number) {
    const sheet::PaperSize size = sheet::size_of(head.paper);
    Page page(size.height_mm, size.width_mm);  // lying
    const double left = (page.width_mm() - kWidth) / 2;
    const double bottom = (page.height_mm() - kHeight) / 2;
    const double top = bottom + kHeight;
    draw_head(page, head, left, top, number + 1, count);
    for (std::size_t i = 0; i < kRowsPerPage && number * kRowsPerPage + i < rows.size(); ++i)
      draw_row(page, rows[number * kRowsPerPage + i], head.units, left,
               top - kTitle - kHead - static_cast<double>(i) * kRow * scale, scale);
    if (rows.empty())
      page.add(Text{
          {left, top - 40}, 7, "No setting has been adopted yet.", Face::regular, Align::left, kBlack, 0});
    draw_foot(page, left, bottom);
    pages.push_back(std::move(page));
  }
  return pages;
}

}  // namespace frostcal::report
