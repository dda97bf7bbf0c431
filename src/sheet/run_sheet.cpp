#include "sheet/run_sheet.hpp"

#include <algorithm>
#include <utility>

#include "errors/bug.hpp"
#include "sheet/bottle_map.hpp"
#include "sheet/caution_text.hpp"
#include "sheet/grading_form.hpp"
#include "sheet/recipe_table.hpp"
#include "sheet/shown_number.hpp"
#include "sheet/taper_table.hpp"
#include "sheet/text_width.hpp"

namespace frostcal::sheet {
namespace {

struct Subject {
  const shop::Shop& shop;
  const design::Grid& grid;
  const shop::Machine& machine;
  const shop::Vessel& vessel;
  const shop::Glass& glass;
};

std::string count_text(std::size_t count, const std::string& one) {
  return std::to_string(count) + " " + one + (count == 1 ? "" : "s");
}

void draw_title(PaperFlow& flow, const Subject& s, const std::vector<BurnSheet>& sheets,
                const RunSheetOptions& options) {
  Page& page = flow.page();
  const std::string number = "Grid " + std::to_string(s.grid.number);
  page.add(Text{{flow.left(), flow.y() - 6}, 7.5, number, Face::bold, Align::left, kBlack, 0});
  std::set<std::string> bottles;
  for (const BurnSheet& sheet : sheets) bottles.insert(sheet.plan.bottle);
  std::string total = count_text(s.grid.swatches.size(), "swatch") == "1 swatch"
                          ? "1 swatch"
                          : std::to_string(s.grid.swatches.size()) + " swatches";
  total += ", " + count_text(sheets.size(), "burn") + ", " + count_text(bottles.size(), "bottle");
  double seconds = 0;
  for (const double burn : options.burn_seconds) seconds += burn;
  if (seconds > 0) total += ", " + shown_duration(seconds);
  const std::string origin = "machine " + s.grid.machine + ", vessel " + s.grid.vessel + ", planned " +
                             s.grid.planned_at.substr(0, 10);
  // A long name takes the place beside it; then the origin goes under it.
  const double after = flow.left() + text_width_mm(number, Face::bold, 7.5) + 4;
  const double total_width = text_width_mm(total, Face::bold, 3.1);
  const double origin_width = text_width_mm(origin, Face::regular, 2.7);
  const double name_width = text_width_mm(s.grid.glass, Face::regular, 5.2);
  const bool beside = after + name_width + 4 + std::max(total_width, origin_width) <= flow.right();
  const double name_room = flow.right() - after - total_width - 4;
  const double size = fitting_size(s.grid.glass, Face::regular, name_room, 5.2, 3.2);
  page.add(Text{{after, flow.y() - 6},
                size,
                shorten(s.grid.glass, Face::regular, size, name_room),
                Face::regular,
                Align::left,
                kBlack,
                0});
  page.add(Text{{flow.right(), flow.y() - 3}, 3.1, total, Face::bold, Align::right, kBlack, 0});
  page.add(Text{{beside ? flow.right() : flow.left(), flow.y() - (beside ? 7.2 : 11)},
                2.7,
                shorten(origin, Face::regular, 2.7, kAreaWidth),
                Face::regular,
                beside ? Align::right : Align::left,
                kQuiet,
                0});
  flow.down(beside ? 11 : 15);
}

std::vector<std::string> steps(const Subject& s, const std::vector<BurnSheet>& sheets) {
  const std::string diameter = shown_length(s.vessel.diameter_mm(0), s.shop.units);
  const std::string side = s.machine.rotary.neck == shop::Side::left ? "left" : "right";
  std::vector<std::string> list;
  list.push_back("Laser off, then plug the rotary in, then laser on. Exhaust on, eye protection on.");
  list.push_back(s.machine.rotary.kind == shop::RotaryKind::chuck
                     ? "Chuck: type the diameter " + diameter +
                           " (panel centre), so that 1 mm on the page is 1 mm of glass."
                     : "Rollers: 1 mm on the page must be 1 mm of glass (" + diameter +
                           " at the panel's centre).");
  list.push_back(
      "Bottle empty, dry, clean, at room temperature, without cracks. Lay it with its neck to the " + side +
      ".");
  list.push_back("Turn it once by hand: it runs true and touches nothing.");
  list.push_back("Level the top of the wall. Focus on the panel's centre.");
  if (s.vessel.seams > 1)
    list.push_back("Turn the bottle until two seams lie equally far from the top line.");
  else if (s.vessel.seams == 1)
    list.push_back("Turn the bottle until the seam lies at the bottom.");
  list.push_back("Centre the page of burn.pdf on the panel's centre, at 100 %. " +
                 std::string(sheets.size() == 1 ? "There is one page." : "One page per burn, in order."));
  list.push_back("Type the table below. Check the first lines, then stay until it ends.");
  list.push_back("Wait until the air is clear. Wipe wet, with gloves. Grade under one lamp.");
  if (const design::Swatch* reference = design::reference_swatch(s.grid)) {
    list.push_back("Grade " + reference->id +
                   " first: it is burned alike at every grid. Measure the rest by it.");
  }
  return list;
}

double draw_steps(Page* page, const std::vector<std::string>& list, double x, double y, double width) {
  double height = 0;
  for (const std::string& step : list) {
    if (page != nullptr) page->frame(x, y - height - 3.0, 2.8, 2.8, 0.25);
    height += paragraph(page, step, x + 5, y - height, width - 5, {3.0, Face::regular, kBlack, 1.3}) + 1.3;
  }
  return height;
}

double draw_cautions(Page* page, const std::vector<std::string>& list, double x, double y, double width) {
  if (page != nullptr) page->add(Text{{x, y - 3}, 3.1, "Cautions", Face::bold, Align::left, kBlack, 0});
  double height = 5;
  for (const std::string& caution : list)
    height += paragraph(page, caution, x, y - height, width, {2.6, Face::regular, kBlack, 1.28}) + 0.9;
  return height;
}

void draw_preparation(PaperFlow& flow, const Subject& s, const std::vector<BurnSheet>& sheets) {
  constexpr double kStepsWidth = 104;
  constexpr double kCautionsAt = 112;
  const std::vector<std::string> list = steps(s, sheets);
  const std::vector<std::string> warned = cautions(s.glass);
  const double left = draw_steps(&flow.page(), list, flow.left(), flow.y(), kStepsWidth);
  const double x = flow.left() + kCautionsAt;
  const double right = draw_cautions(&flow.page(), warned, x, flow.y(), kAreaWidth - kCautionsAt);
  const double height = std::max(left, right);
  flow.page().add(Rule{{x - 4, flow.y()}, {x - 4, flow.y() - height + 1}, 0.8, kBlack, 0});
  flow.down(height + 2);
}

/// The 100 mm bar with which a person checks that the printer kept the scale.
void draw_bar(PaperFlow& flow) {
  Page& page = flow.page();
  const double x = flow.left();
  const double y = flow.y() - 4;
  page.rectangle(x, y, 100, 1.2, kBlack, "100 mm bar");
  for (const double end : {x, x + 100 - 0.3}) page.rectangle(end, y - 1, 0.3, 3.2, kBlack);
  page.add(Text{{x + 104, y - 0.4},
                2.7,
                "100 mm. If it measures otherwise, print at actual size.",
                Face::regular,
                Align::left,
                kBlack,
                0});
  flow.down(8);
}

std::vector<std::string> swatch_ids(const design::Grid& grid) {
  std::vector<std::string> ids;
  for (const std::size_t i : design::grading_order(grid)) ids.push_back(grid.swatches[i].id);
  return ids;
}

void draw_fold(PaperFlow& flow) {
  Page& page = flow.page();
  const std::string text = "fold the settings back before grading";
  const double width = text_width_mm(text, Face::regular, 2.5) + 4;
  const double y = flow.y() - 3;
  page.add(Rule{{flow.left(), y}, {flow.right() - width, y}, 0.2, kQuiet, 2});
  page.add(Text{{flow.right(), y - 0.8}, 2.5, text, Face::regular, Align::right, kQuiet, 0});
  flow.down(7);
}

/// Height of the block of one map with the form beside it, and its scale.
struct SideBySide {
  double map_scale = 1;
  double map_width = 0;
  double height = 0;
  int form_columns = 1;
};

SideBySide side_by_side(const BottleMap& map, std::size_t swatches, double height_limit) {
  SideBySide block;
  const double natural_width = map_width_mm(map, 1);
  const double natural_height = map_height_mm(map, 1) - map_height_mm(map, 0);
  block.map_scale =
      std::min({1.0, 88 / natural_width, (height_limit - map_height_mm(map, 0)) / natural_height});
  block.map_width = map_width_mm(map, block.map_scale);
  block.form_columns = kAreaWidth - block.map_width > 118 || swatches > 14 ? 2 : 1;
  block.height = std::max(map_height_mm(map, block.map_scale), form_height_mm(swatches, block.form_columns));
  return block;
}

void draw_side_by_side(PaperFlow& flow, const BottleMap& map, const std::vector<std::string>& ids,
                       const SideBySide& block) {
  draw_map(flow.page(), map, flow.left(), flow.y(), block.map_scale);
  const double x = flow.left() + block.map_width + 8;
  draw_form(flow.page(), ids, x, flow.y(), flow.right() - x, block.form_columns);
  flow.down(block.height);
}

/// All maps in rows, then the form over the whole width, page after page.
void draw_stacked(PaperFlow& flow, const std::vector<BottleMap>& maps, const std::vector<std::string>& ids) {
  constexpr int kFormColumns = 3;
  for (std::size_t i = 0; i < maps.size();) {
    double scale = 1;
    std::size_t in_row = 0;
    double width = 0;
    while (i + in_row < maps.size() && in_row < 3) {
      const double next = map_width_mm(maps[i + in_row], 1);
      if (in_row > 0 && width + 8 + next > kAreaWidth * 1.6) break;
      width += (in_row > 0 ? 8 : 0) + next;
      ++in_row;
    }
    scale = std::min({1.0, (kAreaWidth - 8 * static_cast<double>(in_row - 1)) /
                               (width - 8 * static_cast<double>(in_row - 1))});
    double height = 0;
    for (std::size_t k = 0; k < in_row; ++k) {
      const double fixed = map_height_mm(maps[i + k], 0);
      scale = std::min(scale, (kAreaHeight - 30 - fixed) / (map_height_mm(maps[i + k], 1) - fixed));
    }
    for (std::size_t k = 0; k < in_row; ++k) height = std::max(height, map_height_mm(maps[i + k], scale));
    // A little smaller, so that the form still fits under the maps.
    constexpr double kLeastShrink = 0.7;
    const double over = height + 3 + form_height_mm(ids.size(), kFormColumns) - flow.room();
    const double drawn = height - map_height_mm(maps[i], 0);
    if (i == 0 && in_row == maps.size() && over > 0 && over < (1 - kLeastShrink) * drawn) {
      scale *= 1 - over / drawn;
      height -= over;
    }
    flow.need(height + 2);
    double x = flow.left();
    for (std::size_t k = 0; k < in_row; ++k) {
      draw_map(flow.page(), maps[i + k], x, flow.y(), scale);
      x += map_width_mm(maps[i + k], scale) + 8;
    }
    flow.down(height + 3);
    i += in_row;
  }
  std::size_t done = 0;
  while (done < ids.size()) {
    flow.need(form_height_mm(std::min<std::size_t>(ids.size() - done, 6), kFormColumns));
    std::size_t take = ids.size() - done;
    while (form_height_mm(take, kFormColumns) > flow.room()) --take;
    const auto first = ids.begin() + static_cast<std::ptrdiff_t>(done);
    draw_form(flow.page(), {first, first + static_cast<std::ptrdiff_t>(take)}, flow.left(), flow.y(),
              kAreaWidth, kFormColumns);
    flow.down(form_height_mm(take, kFormColumns));
    done += take;
  }
}

void draw_grading(PaperFlow& flow, const Subject& s, const std::vector<BurnSheet>& sheets) {
  const std::vector<BottleMap> maps = bottle_maps(s.machine, s.vessel, s.grid, sheets);
  const std::vector<std::string> ids = swatch_ids(s.grid);
  const double words = grade_words_height_mm(s.shop.scale) + 8;
  constexpr double kFold = 7;
  constexpr double kLeastMap = 70;
  if (maps.size() == 1) {
    double limit = flow.room() - words - kFold;
    SideBySide block = side_by_side(maps[0], ids.size(), std::max(limit, kLeastMap));
    const bool same_page = block.height <= limit;
    if (!same_page) {
      limit = kAreaHeight - 9 - words;
      block = side_by_side(maps[0], ids.size(), limit);
    }
    if (block.height <= limit) {
      if (same_page)
        draw_fold(flow);
      else
        flow.new_page();
      flow.heading("Where they are, and how they came out");
      draw_grade_words(flow, s.shop.scale);
      draw_side_by_side(flow, maps[0], ids, block);
      return;
    }
  }
  flow.new_page();
  flow.heading("Where they are, and how they came out");
  draw_grade_words(flow, s.shop.scale);
  draw_stacked(flow, maps, ids);
}

void draw_unlabelled(PaperFlow& flow, const std::vector<BurnSheet>& sheets) {
  std::string ids;
  bool flag = true;
  for (const BurnSheet& sheet : sheets) {
    for (const std::string& id : sheet.marks.unlabelled) ids += (ids.empty() ? "" : ", ") + id;
    flag = flag && sheet.marks.flag_placed;
  }
  std::string text;
  if (!ids.empty()) text = "No room to engrave these ids; find them on the map: " + ids + ". ";
  if (!flag) text += "No room for the flag that shows the neck: mark the neck side by hand.";
  if (text.empty()) return;
  const TextStyle style{2.8, Face::bold, kBlack, 1.3};
  flow.need(paragraph(nullptr, text, 0, 0, kAreaWidth, style) + 2);
  flow.down(paragraph(&flow.page(), text, flow.left(), flow.y(), kAreaWidth, style) + 2);
}

}  // namespace

std::vector<Page> run_sheet(const shop::Shop& shop, const design::Grid& grid,
                            const std::vector<BurnSheet>& sheets, const RunSheetOptions& options) {
  FROSTCAL_ASSERT(options.burn_seconds.empty() ||
                      options.burn_seconds.size() >=
                          static_cast<std::size_t>(sheets.empty() ? 0 : sheets.back().plan.burn),
                  "run_sheet: one time per burn");
  const Subject subject{shop, grid, shop.machine(grid.machine), shop.vessel(grid.vessel),
                        shop.glass(grid.glass)};
  PaperFlow flow(options.paper, "Grid " + std::to_string(grid.number) + "   " + grid.glass);
  draw_title(flow, subject, sheets, options);
  draw_preparation(flow, subject, sheets);
  draw_bar(flow);
  flow.heading("What to type");
  draw_recipe_table(flow, sheets, options);
  draw_unlabelled(flow, sheets);
  draw_taper(flow, shop, grid);
  draw_grading(flow, subject, sheets);
  return std::move(flow).finish();
}

}  // namespace frostcal::sheet
