#include "sheet/burn_page.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "design/grid_shop.hpp"
#include "errors/bug.hpp"
#include "errors/user_error.hpp"
#include "sheet/screening.hpp"
#include "sheet/stroke_glyphs.hpp"

namespace frostcal::sheet {
namespace {

struct Edges {
  double left, bottom, right, top;
};
Edges edges(const std::vector<Point>& rectangle) {
  return {rectangle[0].x_mm, rectangle[0].y_mm, rectangle[2].x_mm, rectangle[2].y_mm};
}

void check_places(const shop::Shop& shop, const design::Grid& grid, const std::vector<StandingBox>& boxes,
                  const StandingFrame& frame) {
  errors::FaultList faults;
  const StandingBox whole = frame.whole().grown(1e-6);
  const std::string file = swatches_file(shop, grid);
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    const StandingBox& box = boxes[i];
    const bool inside = box.left >= whole.left && box.right <= whole.right && box.bottom >= whole.bottom &&
                        box.top <= whole.top;
    if (!inside)
      faults.add({{file, 0, 0, "x_mm, y_mm"},
                  grid.swatches[i].id + " beyond the panel's edge",
                  "a place on the panel of " + grid.vessel,
                  "plan the grid again"});
    for (std::size_t j = 0; j < i; ++j)
      if (grid.swatches[i].bottle == grid.swatches[j].bottle && box.grown(-1e-6).overlaps(boxes[j]))
        faults.add({{file, 0, 0, "x_mm, y_mm"},
                    grid.swatches[i].id + " over " + grid.swatches[j].id,
                    "swatches that do not overlap",
                    "plan the grid again"});
  }
  faults.throw_if_any();
}

/// A tone as dots at the burn's own pitch, centred on the swatch. Black dots make a one-bit image, padded
/// with white columns to whole bytes; `clear_right_mm` says how far the padding may reach.
Image dot_image(const RecipeFill& fill, const Edges& place, double clear_right_mm, const std::string& mark) {
  const double pitch = shop::pitch_mm(fill.setting.dpi);
  const int columns = std::max(1, static_cast<int>(std::lround((place.right - place.left) / pitch)));
  const int rows = std::max(1, static_cast<int>(std::lround((place.top - place.bottom) / pitch)));
  const auto screen = screen_named(fill.setting.screen);
  FROSTCAL_ASSERT(screen.has_value(), "unknown screen on a burn page");
  const DotPattern pattern = cut_from_large_art(*screen, fill.setting.tone_pct / 100, columns, rows);
  Image image;
  image.mark = mark;
  image.rows = rows;
  image.corner = {(place.left + place.right - columns * pitch) / 2,
                  (place.bottom + place.top - rows * pitch) / 2};
  image.height_mm = rows * pitch;
  const int padded = (columns + 7) / 8 * 8;
  const bool one_bit = fill.ink == kBlack && (padded - columns) * pitch <= clear_right_mm;
  image.kind = one_bit ? PixelKind::one_bit : PixelKind::rgb;
  image.columns = one_bit ? padded : columns;
  image.width_mm = image.columns * pitch;
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < image.columns; ++column) {
      const bool burn = column < columns && pattern.dot(column, row);
      if (!one_bit) {
        const Ink ink = burn ? fill.ink : kWhite;
        for (const std::uint8_t level : {ink.red, ink.green, ink.blue})
          image.pixels += static_cast<char>(level);
      } else {
        if (column % 8 == 0) image.pixels += '\0';
        if (burn) image.pixels.back() = static_cast<char>(image.pixels.back() | (0x80 >> (column % 8)));
      }
    }
  return image;
}

/// White to the right of a swatch on the page, up to the next swatch or the page's edge.
double clear_right(const std::vector<Edges>& all, const Edges& place, double page_width) {
  double clear = page_width - place.right;
  for (const Edges& other : all)
    if (other.left >= place.right && other.bottom < place.top && place.bottom < other.top)
      clear = std::min(clear, other.left - place.right);
  return clear;
}

void draw_marks(Page& page, const BurnMarks& marks, const StandingFrame& frame, const Ink& ink) {
  const auto fill = [&](const std::vector<Point>& shape, double u, double v, const std::string& name) {
    std::vector<Point> outline;
    for (const Point& point : shape)
      outline.push_back(frame.on_page(StandingPoint{point.x_mm + u, point.y_mm + v}));
    page.add(Fill{outline, ink, name});
  };
  for (std::size_t i = 0; i < marks.shapes.size(); ++i) fill(marks.shapes[i], 0, 0, marks.shape_names[i]);
  for (const PlacedText& text : marks.texts)
    for (const auto& outline : stroke_text(text.text, text.height_mm))
      fill(outline, text.box.left, text.box.bottom, text.mark);
}

Page draw(const design::Grid& grid, const BurnPlan& plan, const BurnMarks& marks, const StandingFrame& frame,
          const std::vector<StandingBox>& boxes) {
  Page page(frame.panel_mm, frame.girth_mm);
  std::vector<Edges> places;
  for (const StandingBox& box : boxes) places.push_back(edges(frame.on_page(box)));
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    const RecipeFill& fill = plan.fill_for(i);
    if (!fill.dots_here) continue;
    const double clear = clear_right(places, places[i], frame.panel_mm);
    page.add(dot_image(fill, places[i], clear, "swatch " + grid.swatches[plan.swatches[i]].id));
  }
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    const RecipeFill& fill = plan.fill_for(i);
    if (fill.dots_here) continue;
    page.add(Fill{frame.on_page(boxes[i]), fill.ink, "swatch " + grid.swatches[plan.swatches[i]].id});
  }
  draw_marks(page, marks, frame, plan.mark_ink);
  return page;
}

/// Whether dots are those of a swatch with that ink.
bool drawn_with(const Ink& ink, const Image& dots, const BurnPlan& plan) {
  return std::any_of(plan.fills.begin(), plan.fills.end(), [&](const RecipeFill& fill) {
    return fill.ink == ink && std::any_of(fill.swatches.begin(), fill.swatches.end(),
                                          [&](const std::string& id) { return dots.mark == "swatch " + id; });
  });
}

}  // namespace

double drawn_seconds(const Page& page, const BurnPlan& plan, const shop::Machine& machine) {
  const double pitch = shop::pitch_mm(plan.dpi);
  double seconds = 0;
  std::vector<Ink> timed;  // rows of one recipe share a fill
  for (const RecipeFill& fill : plan.fills) {
    if (std::find(timed.begin(), timed.end(), fill.ink) != timed.end()) continue;
    timed.push_back(fill.ink);
    std::map<long, std::pair<double, double>> lines;  // first and last place on each line
    const auto cover = [&](double left, double right, double bottom, double top) {
      for (long line = std::lround(bottom / pitch); line < std::lround(top / pitch); ++line) {
        const auto [found, is_new] = lines.try_emplace(line, left, right);
        if (is_new) continue;
        found->second.first = std::min(found->second.first, left);
        found->second.second = std::max(found->second.second, right);
      }
    };
    for (const Element& element : page.elements()) {
      if (const Fill* drawn = std::get_if<Fill>(&element); drawn != nullptr && drawn->ink == fill.ink) {
        const auto [left, right] =
            std::minmax_element(drawn->outline.begin(), drawn->outline.end(),
                                [](const Point& a, const Point& b) { return a.x_mm < b.x_mm; });
        const auto [bottom, top] =
            std::minmax_element(drawn->outline.begin(), drawn->outline.end(),
                                [](const Point& a, const Point& b) { return a.y_mm < b.y_mm; });
        cover(left->x_mm, right->x_mm, bottom->y_mm, top->y_mm);
      }
      if (const Image* dots = std::get_if<Image>(&element);
          dots != nullptr && drawn_with(fill.ink, *dots, plan))
        cover(dots->corner.x_mm, dots->corner.x_mm + dots->width_mm, dots->corner.y_mm,
              dots->corner.y_mm + dots->height_mm);
    }
    const double speed = machine.scan_speed_mm_s(fill.setting.speed_pct);
    for (const auto& [line, reach] : lines)
      seconds += fill.setting.passes * ((reach.second - reach.first) / speed + machine.turnaround_s);
  }
  return seconds;
}

double burn_seconds(const std::vector<BurnSheet>& sheets) {
  double seconds = 0;
  for (const BurnSheet& sheet : sheets) seconds += sheet.seconds;
  return seconds;
}

std::vector<BurnSheet> burn_sheets(const shop::Shop& shop, const design::Grid& grid,
                                   const SheetOptions& options) {
  const shop::Machine machine = design::machine_as_planned(shop, grid);
  const shop::Vessel& vessel = shop.vessel(grid.vessel);
  const StandingFrame frame(machine, vessel);
  std::vector<StandingBox> all;
  for (const design::Swatch& swatch : grid.swatches) all.push_back(standing_box(swatch, machine, vessel));
  check_places(shop, grid, all, frame);

  std::map<std::string, std::vector<StandingBox>> engraved;
  const std::vector<ShelvedBottle> shelved = shelved_bottles(shop, grid.bottles(), options.earlier);
  for (const ShelvedBottle& bottle : shelved) {
    std::vector<StandingBox>& borne = engraved[bottle.name];
    borne = bottle.places;
    borne.insert(borne.end(), bottle.engraved.begin(), bottle.engraved.end());
  }
  std::vector<BurnPlan> plans = burn_plans(shop, grid, options);
  std::vector<BurnMarks> marks = place_marks(grid, plans, frame, all, engraved);
  std::vector<BurnSheet> sheets;
  for (std::size_t i = 0; i < plans.size(); ++i) {
    std::vector<StandingBox> own;
    for (const std::size_t index : plans[i].swatches) own.push_back(all[index]);
    Page page = draw(grid, plans[i], marks[i], frame, own);
    const double seconds = drawn_seconds(page, plans[i], machine);
    sheets.push_back({std::move(plans[i]), std::move(marks[i]), std::move(page), std::nullopt, seconds});
    for (const ShelvedBottle& bottle : shelved)
      if (bottle.name == sheets.back().plan.bottle) sheets.back().shelved = bottle;
  }
  return sheets;
}

std::vector<Page> burn_pages(const std::vector<BurnSheet>& sheets) {
  std::vector<Page> pages;
  for (const BurnSheet& sheet : sheets) pages.push_back(sheet.page);
  return pages;
}

}  // namespace frostcal::sheet
