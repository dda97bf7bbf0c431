#include "sheet/run_sheet.hpp"

#include <algorithm>
#include <utility>

#include "design/grid_shop.hpp"
#include "sheet/bottle_map.hpp"
#include "sheet/caution_text.hpp"
#include "sheet/grading_form.hpp"
#include "sheet/paper_flow.hpp"
#include "sheet/recipe_table.hpp"
#include "sheet/shown_number.hpp"
#include "sheet/taper_table.hpp"
#include "sheet/text_width.hpp"
#include "shop/setting.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::sheet {
namespace {

struct Subject {
  const shop::Shop& shop;
  const design::Grid& grid;
  const shop::Machine& machine;
  const shop::Vessel& vessel;
  const shop::Glass& glass;
};

void draw_title(PaperFlow& flow, const Subject& s, const std::vector<BurnSheet>& sheets) {
  Page& page = flow.page();
  const std::string number = "Grid " + std::to_string(s.grid.number);
  page.add(Text{{flow.left(), flow.y() - 6}, 7.5, number, Face::bold, Align::left, kBlack, 0});
  std::set<std::string> bottles;
  for (const BurnSheet& sheet : sheets) bottles.insert(sheet.plan.bottle);
  using textfile::counted;
  const std::string total = counted(static_cast<int>(s.grid.swatches.size()), "swatch", "swatches") + ", " +
                            counted(static_cast<int>(sheets.size()), "burn", "burns") + ", " +
                            counted(static_cast<int>(bottles.size()), "bottle", "bottles") + ", " +
                            shown_duration(burn_seconds(sheets));
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

struct Step {
  std::string text;
  Face face = Face::regular;
};

/// The grid's bottles in order of first burn, each with its first sheet and its burns.
struct BottleUse {
  const BurnSheet* first;
  std::vector<std::string> burns;
};
std::vector<BottleUse> bottle_uses(const std::vector<BurnSheet>& sheets) {
  std::vector<BottleUse> uses;
  for (const BurnSheet& sheet : sheets) {
    auto use = std::find_if(uses.begin(), uses.end(), [&](const BottleUse& other) {
      return other.first->plan.bottle == sheet.plan.bottle;
    });
    if (use == uses.end()) use = uses.insert(uses.end(), {&sheet, {}});
    use->burns.push_back(std::to_string(sheet.plan.burn));
  }
  return uses;
}

std::string take_text(const std::vector<BottleUse>& uses) {
  std::vector<std::string> used;
  std::vector<std::string> fresh;
  for (const BottleUse& use : uses) {
    std::string text = use.first->plan.bottle;
    if (uses.size() > 1)
      text += std::string(use.burns.size() == 1 ? " (burn " : " (burns ") + textfile::joined(use.burns) + ")";
    (use.first->shelved ? used : fresh).push_back(text);
  }
  std::string text = "Take the used bottle" + std::string(used.size() == 1 ? " " : "s ") +
                     textfile::joined(used) + " from the shelf, not a fresh one.";
  if (!fresh.empty()) text += " Fresh: " + textfile::joined(fresh) + ".";
  return text;
}

/// How a used bottle is laid as it lay when its marks were burned: the end of a sentence.
std::string laid_by(const ShelvedBottle& bottle) {
  const std::string flag = bottle.flag_placed ? ", its flag pointing to the neck" : "";
  switch (bottle.centre) {
    case CentreMark::cross:
      return "its cross lies on the top line, at the page's centre" + flag;
    case CentreMark::lines:
      return "the short lines at both ends of its panel lie on the top line" + flag;
    case CentreMark::line:
      return "the short line at the end of its panel lies on the top line" + flag;
    case CentreMark::none:
      break;
  }
  return "its squares lie as on the map below" + flag;
}

/// One step for all used bottles that are laid by the same marks.
void add_used_turning(std::vector<Step>& list, const std::vector<BottleUse>& uses) {
  std::vector<std::pair<std::string, std::vector<std::string>>> ways;
  for (const BottleUse& use : uses) {
    if (!use.first->shelved) continue;
    const std::string way = laid_by(*use.first->shelved);
    auto at = std::find_if(ways.begin(), ways.end(), [&](const auto& known) { return known.first == way; });
    if (at == ways.end()) at = ways.insert(ways.end(), {way, {}});
    at->second.push_back(use.first->shelved->name);
  }
  for (const auto& [way, bottles] : ways) {
    const std::string which = ways.size() > 1      ? textfile::joined(bottles)
                              : bottles.size() > 1 ? "each used bottle"
                              : uses.size() > 1    ? bottles.front()
                                                   : "the used bottle";
    list.push_back({"Turn " + which + " until " + way + ".", Face::bold});
  }
}

void add_turning(std::vector<Step>& list, const std::vector<BottleUse>& uses, int seams) {
  const bool fresh =
      std::any_of(uses.begin(), uses.end(), [](const BottleUse& use) { return !use.first->shelved; });
  const std::string bottle = fresh && uses.front().first->shelved ? "a fresh bottle" : "the bottle";
  add_used_turning(list, uses);
  if (!fresh || seams == 0) return;
  list.push_back({"Turn " + bottle +
                  (seams > 1 ? " until two seams lie equally far from the top line."
                             : " until the seam lies at the bottom.")});
}

std::vector<Step> steps(const Subject& s, const std::vector<BurnSheet>& sheets) {
  const std::string diameter = shown_diameter(s.vessel.diameter_mm(0), s.shop.units);
  const std::string side = shop::to_text(s.machine.rotary.neck);
  const std::vector<BottleUse> uses = bottle_uses(sheets);
  const bool used = std::any_of(sheets.begin(), sheets.end(),
                                [](const BurnSheet& sheet) { return sheet.shelved.has_value(); });
  const bool names = std::any_of(sheets.begin(), sheets.end(),
                                 [](const BurnSheet& sheet) { return sheet.plan.names_bottle; });
  const std::string one = s.shop.units == shop::LengthUnit::inch ? "1 in" : "1 mm";
  std::vector<Step> list;
  if (used) {
    list.push_back({take_text(uses), Face::bold});
    list.push_back({"Missing, or no mark of it to be read? Don't burn; plan again with --new-bottle."});
  }
  list.push_back({"Laser off, then plug the rotary in, then laser on. Exhaust on, eye protection on."});
  list.push_back({s.machine.rotary.kind == shop::RotaryKind::chuck
                      ? "Chuck: type the diameter " + diameter + " (panel centre), so that " + one +
                            " on the page is " + one + " of glass."
                      : "Rollers: " + one + " on the page must be " + one + " of glass (" + diameter +
                            " at the panel's centre)."});
  list.push_back(
      {"Bottle empty, dry, clean, at room temperature, without cracks. Lay it with its neck to the " + side +
       "."});
  list.push_back({"Turn it once by hand: it runs true and touches nothing."});
  list.push_back({"Level the top of the wall. Focus on the panel's centre."});
  add_turning(list, uses, s.vessel.seams);
  std::string pages = sheets.size() == 1 ? "There is one page." : "One page per burn, in order.";
  if (sheets.size() > uses.size()) pages += " A bottle stays as it lies until all its burns are done.";
  list.push_back({"Centre the page of burn.pdf on the panel's centre, at 100 %. " + pages});
  list.push_back({"Type the table below. Check the first lines, then stay until it ends."});
  list.push_back({"Wait until the air is clear. Wipe wet, with gloves. Grade under one lamp."});
  if (names)
    list.push_back(
        {"Can the bottle's name, flag (it points to the neck) and centre mark be read? If not, draw them "
         "with "
         "a marker."});
  if (const design::Swatch* reference = design::reference_swatch(s.grid))
    list.push_back({"Grade " + reference->id + " first, settle on its grade, and measure the rest by it."});
  return list;
}

constexpr double kUnderStep = 1.3;

TextStyle style_of(const Step& step) {
  return {3.0, step.face, kBlack, 1.3};
}

double steps_height(const std::vector<Step>& list, double width) {
  double height = 0;
  for (const Step& step : list)
    height += paragraph(nullptr, step.text, 0, 0, width - 5, style_of(step)) + kUnderStep;
  return height;
}

/// Line by line on as many pages as it takes: a grid can stand on dozens of used bottles.
void draw_steps(PaperFlow& flow, const std::vector<Step>& list, double width) {
  for (const Step& step : list) {
    const TextStyle style = style_of(step);
    bool first = true;
    for (const std::string& line : wrap(step.text, style.face, style.size_mm, width - 5)) {
      flow.need(style.size_mm * style.leading);
      if (first) flow.page().frame(flow.left(), flow.y() - 3.0, 2.8, 2.8, 0.25);
      first = false;
      flow.down(paragraph(&flow.page(), line, flow.left() + 5, flow.y(), width - 5, style));
    }
    flow.down(kUnderStep);
  }
}

double draw_cautions(Page* page, const std::vector<std::string>& list, double x, double y, double width) {
  if (page != nullptr) page->add(Text{{x, y - 3}, 3.1, "Cautions", Face::bold, Align::left, kBlack, 0});
  double height = 5;
  for (const std::string& caution : list)
    height += paragraph(page, caution, x, y - height, width, {2.6, Face::regular, kBlack, 1.28}) + 0.9;
  return height;
}

void draw_preparation(PaperFlow& flow, const Subject& s, const std::vector<BurnSheet>& sheets) {
  constexpr double kStepsWidth = 122;
  constexpr double kCautionsAt = 129;
  const std::vector<Step> list = steps(s, sheets);
  const std::vector<std::string> warned = cautions(s.glass);
  const double x = flow.left() + kCautionsAt;
  const double cautions_end = draw_cautions(&flow.page(), warned, x, flow.y(), kAreaWidth - kCautionsAt);
  const double height = std::max(steps_height(list, kStepsWidth), cautions_end);
  const double on_page = std::min(height, flow.room());
  flow.page().add(Rule{{x - 4, flow.y()}, {x - 4, flow.y() - on_page + 1}, 0.8, kBlack, 0});
  const double below = flow.y() - height;
  draw_steps(flow, list, kStepsWidth);
  if (height <= on_page) flow.down(flow.y() - below);
  flow.down(2);
}

/// The bar with which a person checks that the printer kept the scale: 100 mm, or 4 in for a ruler in inches.
void draw_bar(PaperFlow& flow, shop::LengthUnit units) {
  const bool inches = units == shop::LengthUnit::inch;
  const double length = inches ? 4 * shop::kMmPerInch : 100;
  const std::string words = inches ? "4 in" : "100 mm";
  flow.need(8);
  Page& page = flow.page();
  const double x = flow.left();
  const double y = flow.y() - 4;
  page.rectangle(x, y, length, 1.2, kBlack, words + " bar");
  for (const double end : {x, x + length - 0.3}) page.rectangle(end, y - 1, 0.3, 3.2, kBlack);
  page.add(Text{{x + length + 4, y - 0.4},
                2.7,
                words + ". If it measures otherwise, print at actual size.",
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
  block.map_width = map_block_width_mm(map, block.map_scale);
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

constexpr double kBetweenMaps = 8;

/// Of `count` maps from `first` on, drawn at `scale` side by side.
double row_width(const std::vector<BottleMap>& maps, std::size_t first, std::size_t count, double scale,
                 double (*width_of)(const BottleMap&, double)) {
  double width = kBetweenMaps * (static_cast<double>(count) - 1);
  for (std::size_t k = 0; k < count; ++k) width += width_of(maps[first + k], scale);
  return width;
}

double row_scale(const std::vector<BottleMap>& maps, std::size_t first, std::size_t count) {
  const double gaps = kBetweenMaps * (static_cast<double>(count) - 1);
  return std::min(1.0, (kAreaWidth - gaps) / (row_width(maps, first, count, 1, map_width_mm) - gaps));
}

/// All maps in rows, then the form over the whole width, page after page.
void draw_stacked(PaperFlow& flow, const std::vector<BottleMap>& maps, const std::vector<std::string>& ids) {
  constexpr int kFormColumns = 3;
  for (std::size_t i = 0; i < maps.size();) {
    std::size_t in_row = 1;
    while (i + in_row < maps.size() && in_row < 3 &&
           row_width(maps, i, in_row + 1, 1, map_width_mm) <= kAreaWidth * 1.6 &&
           row_width(maps, i, in_row + 1, row_scale(maps, i, in_row + 1), map_block_width_mm) <= kAreaWidth)
      ++in_row;
    double scale = row_scale(maps, i, in_row);
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
      x += map_block_width_mm(maps[i + k], scale) + kBetweenMaps;
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
  constexpr double kRounding = 1e-6;  // mm; a map is scaled to just fit
  if (maps.size() == 1) {
    double limit = flow.room() - words - kFold;
    SideBySide block = side_by_side(maps[0], ids.size(), std::max(limit, kLeastMap));
    const bool same_page = block.height <= limit + kRounding;
    if (!same_page) {
      limit = kAreaHeight - 9 - words;
      block = side_by_side(maps[0], ids.size(), limit);
    }
    if (block.height <= limit + kRounding) {
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
  bool name = true;
  for (const BurnSheet& sheet : sheets) {
    for (const std::string& id : sheet.marks.unlabelled) ids += (ids.empty() ? "" : ", ") + id;
    if (!sheet.plan.names_bottle) continue;
    flag = flag && sheet.marks.flag_placed;
    name = name && sheet.marks.name_placed;
  }
  std::string text;
  if (!ids.empty()) text = "No room to engrave these ids; find them on the map: " + ids + ". ";
  if (!flag) text += "No room for the flag that shows the neck: mark the neck side by hand. ";
  if (!name) text += "No room for the bottle's name: write it on by hand.";
  if (text.empty()) return;
  const TextStyle style{2.8, Face::bold, kBlack, 1.3};
  flow.need(paragraph(nullptr, text, 0, 0, kAreaWidth, style) + 2);
  flow.down(paragraph(&flow.page(), text, flow.left(), flow.y(), kAreaWidth, style) + 2);
}

}  // namespace

std::vector<Page> run_sheet(const shop::Shop& shop, const design::Grid& grid,
                            const std::vector<BurnSheet>& sheets) {
  const shop::Machine machine = design::machine_as_planned(shop, grid);
  const Subject subject{shop, grid, machine, shop.vessel(grid.vessel), shop.glass(grid.glass)};
  PaperFlow flow(shop.paper, "Grid " + std::to_string(grid.number) + "   " + grid.glass);
  draw_title(flow, subject, sheets);
  draw_preparation(flow, subject, sheets);
  draw_bar(flow, shop.units);
  draw_recipe_table(flow, sheets);
  draw_unlabelled(flow, sheets);
  draw_taper(flow, shop, grid);
  draw_grading(flow, subject, sheets);
  return std::move(flow).finish();
}

}  // namespace frostcal::sheet
