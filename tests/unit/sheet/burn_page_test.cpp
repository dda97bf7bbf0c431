#include "sheet/burn_page.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "design/placement.hpp"
#include "errors/user_error.hpp"
#include "sheet/pdf_writer.hpp"
#include "sheet/stroke_glyphs.hpp"
#include "support/rendered_page.hpp"
#include "unit/sheet/demo_grid.hpp"

using namespace frostcal;
using namespace frostcal::sheet;
using Catch::Matchers::WithinAbs;
using frostcal::sheet::test::demo_grid;
using frostcal::sheet::test::demo_shop;
using frostcal::test::Raster;
using frostcal::test::render;
using frostcal::test::Renderer;

namespace {

constexpr int kDpi = 1016;  // 40 pixels to the mm
constexpr double kPixel = 25.4 / kDpi;

std::string burn_pdf(const std::vector<BurnSheet>& sheets) {
  return to_pdf({"burns", "en", std::nullopt, burn_pages(sheets)});
}

struct Seen {
  double left, bottom, right, top;
  std::array<int, 3> colour;
};

/// Walks from the middle of a swatch to where its colour ends. mm from the page's lower left corner.
Seen seen_at(const Raster& raster, double x_mm, double y_mm) {
  const int column = static_cast<int>(x_mm / kPixel);
  const int row = raster.rows - 1 - static_cast<int>(y_mm / kPixel);
  const auto colour = raster.at(column, row);
  const auto walk = [&](int dx, int dy) {
    int steps = 0;
    while (column + (steps + 1) * dx >= 0 && column + (steps + 1) * dx < raster.columns &&
           row + (steps + 1) * dy >= 0 && row + (steps + 1) * dy < raster.rows &&
           raster.at(column + (steps + 1) * dx, row + (steps + 1) * dy) == colour)
      ++steps;
    return steps;
  };
  return {(column - walk(-1, 0)) * kPixel, (raster.rows - 1 - row - walk(0, 1)) * kPixel,
          (column + walk(1, 0) + 1) * kPixel, (raster.rows - row + walk(0, -1)) * kPixel, colour};
}

bool inside(const std::vector<Point>& outline, double x, double y) {
  bool odd = false;
  for (std::size_t i = 0, j = outline.size() - 1; i < outline.size(); j = i++) {
    const Point& a = outline[i];
    const Point& b = outline[j];
    if ((a.y_mm > y) != (b.y_mm > y) && x < (b.x_mm - a.x_mm) * (y - a.y_mm) / (b.y_mm - a.y_mm) + a.x_mm)
      odd = !odd;
  }
  return odd;
}

std::array<int, 3> channels(const Ink& ink) {
  return {ink.red, ink.green, ink.blue};
}

/// One swatch on the right of amber-jug-1.
design::Grid earlier_grid() {
  design::Grid grid = demo_grid(1, 1, 1);
  grid.number = 6;
  grid.swatches[0].y_mm = 30;
  return grid;
}

}  // namespace

TEST_CASE("both renderers find every swatch where swatches.csv says, in its fill", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  const design::Grid grid = demo_grid(4, 3, 6);
  const auto sheets = burn_sheets(shop, grid);
  REQUIRE(sheets.size() == 1);
  const double width = 95;
  const double girth = 3.14159265358979 * 88;
  CHECK_THAT(sheets[0].page.width_mm(), WithinAbs(width, 1e-9));
  CHECK_THAT(sheets[0].page.height_mm(), WithinAbs(girth, 1e-6));
  const std::string pdf = burn_pdf(sheets);
  for (const Renderer renderer : {Renderer::poppler, Renderer::mupdf}) {
    const Raster raster = render(renderer, pdf, 1, kDpi);
    for (std::size_t i = 0; i < grid.swatches.size(); ++i) {
      const design::Swatch& swatch = grid.swatches[i];
      INFO(swatch.id);
      const double x = width / 2 + swatch.x_mm;  // neck on the left: the base is to the right
      const double y = girth / 2 + swatch.y_mm;
      const Seen seen = seen_at(raster, x, y);
      CHECK_THAT(seen.left, WithinAbs(x - 4, 0.05));
      CHECK_THAT(seen.right, WithinAbs(x + 4, 0.05));
      CHECK_THAT(seen.bottom, WithinAbs(y - 4, 0.05));
      CHECK_THAT(seen.top, WithinAbs(y + 4, 0.05));
      CHECK(seen.colour == channels(sheets[0].plan.fill_for(i).ink));
    }
  }
}

TEST_CASE("with the neck on the right the page is turned, not mirrored", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  design::Grid grid = demo_grid(1, 2, 2);
  grid.machine = "barn";
  const auto sheets = burn_sheets(shop, grid);
  const Raster raster = render(Renderer::poppler, burn_pdf(sheets), 1, 254);
  const double x = 95.0 / 2 - grid.swatches[0].x_mm;
  CHECK(raster.at_mm(x, 3.14159265 * 44, 254) == channels(sheets[0].plan.fill_for(0).ink));
  // Letters are turned by 90 degrees only, so outlines keep their sense: signed areas stay positive.
  for (const Element& element : sheets[0].page.elements()) {
    const Fill& fill = std::get<Fill>(element);
    if (fill.mark != "name") continue;
    double area = 0;
    for (std::size_t i = 0; i < fill.outline.size(); ++i) {
      const Point& a = fill.outline[i];
      const Point& b = fill.outline[(i + 1) % fill.outline.size()];
      area += a.x_mm * b.y_mm - b.x_mm * a.y_mm;
    }
    CHECK(area > 0);
  }
}

TEST_CASE("one recipe is drawn as grey at its tone", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  for (const auto& [tone, level] : {std::pair{100.0, 0}, {60.0, 102}, {50.0, 128}, {20.0, 204}}) {
    const auto sheets = burn_sheets(shop, demo_grid(2, 2, 1, tone));
    REQUIRE(sheets[0].plan.fills.size() == (tone < 100 ? 2 : 1));
    CHECK(sheets[0].plan.fills[0].ink == grey(static_cast<std::uint8_t>(level)));
    CHECK(sheets[0].plan.fills[0].swatches.size() == 4);
  }
}

TEST_CASE("ids and marks are drawn solid beside grey swatches", "[sheet][burn]") {
  shop::Shop shop = demo_shop();
  design::Grid grid = demo_grid(1, 3, 1, 20);
  grid.swatches[1].setting.tone_pct = 60;
  // What ids, flag, name and centre mark are drawn with, and the row that says so.
  const auto marks = [&](const SheetOptions& options) {
    const BurnSheet sheet = burn_sheets(shop, grid, options)[0];
    std::vector<RecipeFill> rows;
    for (const RecipeFill& fill : sheet.plan.fills)
      if (fill.marks) rows.push_back(fill);
    REQUIRE(rows.size() == 1);
    REQUIRE_FALSE(sheet.marks.texts.empty());
    for (const Element& element : sheet.page.elements()) {
      const Fill* fill = std::get_if<Fill>(&element);
      if (fill != nullptr && fill->mark.rfind("swatch ", 0) != 0) CHECK(fill->ink == rows[0].ink);
    }
    CHECK(sheet.plan.mark_ink == rows[0].ink);
    return rows[0];
  };
  SheetOptions readable;
  readable.readable = [](const shop::Setting& setting) {
    CHECK(setting.tone_pct == 100);
    return 0.5;
  };
  for (const SheetOptions& options : {SheetOptions{}, readable}) {
    const RecipeFill own = marks(options);
    CHECK(own.ink == kBlack);
    CHECK(own.setting.tone_pct == 100);
    CHECK(own.setting.power_pct == 20);
    CHECK(own.number == 3);
    CHECK(own.swatches.empty());
  }
  // A solid swatch of the burn has that row already.
  grid.swatches[2].setting.tone_pct = 100;
  CHECK(marks({}).swatches == std::vector<std::string>{"A3"});
  // Where solid breaks the dose limit, the darkest grey.
  grid.swatches[2].setting.tone_pct = 20;
  shop.machines[0].dose_limit_j_mm2 = 0.7 * dose_j_mm2({20, 40, 300, 100, "stucki", 1}, shop.machines[0]);
  CHECK(marks({}).ink == grey(102));
  CHECK(marks({}).swatches == std::vector<std::string>{"A2"});
}

TEST_CASE("marks keep the dose limit where a recipe of the burn does", "[sheet][burn]") {
  shop::Shop shop = demo_shop();
  design::Grid grid = demo_grid(1, 3, 3, 40);  // 20, 25 and 30 % power
  const auto marked = [&] {
    const BurnSheet sheet = burn_sheets(shop, grid, {})[0];
    for (const RecipeFill& fill : sheet.plan.fills)
      if (fill.marks) return fill.swatches.front();
    return std::string();
  };
  const double dose = dose_j_mm2({20, 40, 300, 100, "stucki", 1}, shop.machines[0]);
  CHECK(marked() == "A3");
  shop.machines[0].dose_limit_j_mm2 = 1.3 * dose;
  CHECK(marked() == "A2");
  shop.machines[0].dose_limit_j_mm2 = 0.9 * dose;  // 40 % tones are within, no solid one is
  CHECK(marked() == "A1");
}

TEST_CASE("tones in a burn of several recipes are dots at the burn's pitch", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  const design::Grid grid = demo_grid(2, 2, 2, 60);
  const auto sheets = burn_sheets(shop, grid);
  int images = 0;
  for (const Element& element : sheets[0].page.elements()) {
    const Image* image = std::get_if<Image>(&element);
    if (image == nullptr) continue;
    ++images;
    CHECK(image->rows == 94);  // 8 mm at 300 dpi
    CHECK_THAT(image->height_mm, WithinAbs(94 * 25.4 / 300, 1e-9));
  }
  CHECK(images == 4);
  const double pitch = 25.4 / 300;
  const Raster raster = render(Renderer::mupdf, burn_pdf(sheets), 1, 1200);
  const design::Swatch& swatch = grid.swatches[1];
  const double left = 95.0 / 2 + swatch.x_mm - 94 * pitch / 2;
  const double bottom = 3.14159265358979 * 44 + swatch.y_mm - 94 * pitch / 2;
  int burned = 0;
  for (int row = 0; row < 94; ++row)
    for (int column = 0; column < 94; ++column)
      burned += raster.at_mm(left + (column + 0.5) * pitch, bottom + (row + 0.5) * pitch, 1200) ==
                        channels(sheets[0].plan.fill_for(1).ink)
                    ? 1
                    : 0;
  CHECK_THAT(burned / (94.0 * 94.0), WithinAbs(0.6, 0.01));
}

TEST_CASE("nothing engraved overlaps, and each id stands by its swatch", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  const design::Grid grid = demo_grid(12, 7, 16);
  const auto sheets = burn_sheets(shop, grid);
  const BurnMarks& marks = sheets[0].marks;
  CHECK(marks.unlabelled.empty());
  CHECK(marks.flag_placed);
  CHECK(marks.texts.size() == grid.swatches.size() + 1);
  std::vector<StandingBox> all = marks.boxes;
  for (const design::Swatch& swatch : grid.swatches)
    all.push_back(standing_box(swatch, shop.machine("bench"), shop.vessel("tall-jug")));
  for (std::size_t i = 0; i < all.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) CHECK_FALSE(all[i].overlaps(all[j]));
  for (const PlacedText& text : marks.texts) {
    const design::Swatch* owner = nullptr;
    for (const design::Swatch& swatch : grid.swatches)
      if (text.mark == "id " + swatch.id) owner = &swatch;
    if (owner == nullptr) continue;
    const StandingBox box = standing_box(*owner, shop.machine("bench"), shop.vessel("tall-jug"));
    CHECK(text.box.grown(0.61).overlaps(box));
  }
}

TEST_CASE("a bottle is named once, and a later grid's ids carry its number", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  design::Grid grid = demo_grid(2, 2, 2);
  grid.swatches[2].burn = grid.swatches[3].burn = 2;
  grid.swatches[2].setting.dpi = grid.swatches[3].setting.dpi = 250;
  const auto sheets = burn_sheets(shop, grid);
  REQUIRE(sheets.size() == 2);
  CHECK(sheets[0].plan.names_bottle);
  CHECK_FALSE(sheets[1].plan.names_bottle);
  CHECK(sheets[1].marks.shapes.empty());
  SheetOptions options;
  options.earlier = {earlier_grid()};
  const auto later = burn_sheets(shop, grid, options);
  CHECK(later[0].marks.shapes.empty());
  REQUIRE_FALSE(later[0].marks.texts.empty());
  CHECK(later[0].marks.texts[0].text == "7-A1");
}

TEST_CASE("ids and marks are engraved with the recipe that most surely leaves a mark", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  design::Grid grid = demo_grid(1, 4, 4);
  const auto burned_with = [&](std::size_t i, double power, double speed, int passes) {
    grid.swatches[i].setting.power_pct = power;
    grid.swatches[i].setting.speed_pct = speed;
    grid.swatches[i].setting.passes = passes;
  };
  const auto marked = [&] {
    std::vector<std::string> with;
    for (const BurnSheet& sheet : burn_sheets(shop, grid))
      for (const RecipeFill& fill : sheet.plan.fills)
        if (fill.marks) with.push_back(fill.swatches.front());
    return with;
  };
  // The first burn of a first grid: 15 % at 17 %, which marks were burned with once, left none on most glass.
  burned_with(0, 8, 34, 1);
  burned_with(1, 15, 17, 1);
  burned_with(2, 45, 13, 1);
  burned_with(3, 52, 35, 1);
  CHECK(marked() == std::vector<std::string>{"A3"});
  // Slow and weak has a high dose and leaves nothing.
  burned_with(0, 11, 7, 1);
  burned_with(2, 29, 21, 1);
  burned_with(3, 60, 62, 1);
  CHECK(marked() == std::vector<std::string>{"A3"});
  burned_with(3, 60, 62, 2);
  CHECK(marked() == std::vector<std::string>{"A4"});
  // What is known of the glass comes first; dots are burned solid for a mark.
  SheetOptions options;
  options.readable = [](const shop::Setting& setting) {
    CHECK(setting.tone_pct == 100);
    return setting.power_pct == 15 ? 0.9 : 0.5;
  };
  grid.swatches[0].setting.tone_pct = 60;
  const std::vector<BurnSheet> sheets = burn_sheets(shop, grid, options);
  for (const RecipeFill& fill : sheets[0].plan.fills) CHECK(fill.marks == (fill.setting.power_pct == 15));
  // Of those that are sure enough the fastest, though a slower one is a little surer.
  options.readable = [](const shop::Setting& setting) { return setting.speed_pct == 35 ? 0.99 : 0.96; };
  const shop::Setting* fastest = &grid.swatches[0].setting;
  for (const design::Swatch& swatch : grid.swatches) {
    if (swatch.burn == 1 && swatch.setting.speed_pct > fastest->speed_pct) fastest = &swatch.setting;
  }
  REQUIRE(fastest->speed_pct > 35);
  const std::vector<BurnSheet> sure = burn_sheets(shop, grid, options);
  for (const RecipeFill& fill : sure[0].plan.fills)
    CHECK(fill.marks == (fill.setting.speed_pct == fastest->speed_pct));
}

TEST_CASE("on a taper a swatch is drawn for its own radius", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  const shop::Vessel& cruet = shop.vessel("cruet");
  design::Swatch swatch = demo_grid(1, 1, 1).swatches[0];
  swatch.x_mm = 20;
  // Diameter at 20 mm towards the base: 61 + 6 * 20 / 70 = 62.7143.
  const double ratio = 61 / (61 + 6 * 20.0 / 70);
  const StandingBox box = standing_box(swatch, shop.machine("bench"), cruet);
  CHECK_THAT(box.right - box.left, WithinAbs(8 * ratio, 1e-9));
  const LocalWall wall = local_wall(swatch, shop.machine("bench"), cruet);
  CHECK_THAT(wall.pitch_mm, WithinAbs(25.4 / 300 / ratio, 1e-9));
  CHECK_THAT(wall.dose_j_mm2, WithinAbs(12 / (480 * 25.4 / 300) * ratio, 1e-9));
  CHECK_THAT(wall.defocus_mm, WithinAbs(6 * 24.0 / 70 / 2, 1e-9));
  CHECK_FALSE(wall.out_of_focus);
  swatch.x_mm = 30;
  CHECK(local_wall(swatch, shop.machine("bench"), cruet).out_of_focus);
}

TEST_CASE("a grid that does not fit its machine or bottle is refused by name", "[sheet][burn]") {
  shop::Shop shop = demo_shop();
  const auto text_of = [&](const design::Grid& grid) {
    try {
      burn_sheets(shop, grid);
    } catch (const errors::UserError& error) {
      return std::string(error.what());
    }
    return std::string();
  };
  design::Grid grid = demo_grid(2, 2, 4);
  grid.swatches[3].x_mm = 45;
  CHECK(text_of(grid).find("B2 beyond the panel's edge") != std::string::npos);
  grid = demo_grid(2, 2, 4);
  grid.swatches[1].x_mm = grid.swatches[0].x_mm + 5;
  CHECK(text_of(grid).find("A2 over A1") != std::string::npos);
  grid = demo_grid(2, 2, 4);
  grid.swatches[1].setting.dpi = 250;
  CHECK(text_of(grid).find("one dpi in burn 1") != std::string::npos);
  grid = demo_grid(2, 2, 4);
  shop.machines[0].fills = {"#102030", "#405060"};
  CHECK(text_of(grid).find("4 recipes in burn 1, expected at most 2 on bench") != std::string::npos);
  shop.machines[0].fills.clear();
  grid = demo_grid(2, 2, 4, 60);
  for (design::Swatch& swatch : grid.swatches) swatch.setting.screen = "newspaper";
  CHECK(text_of(grid).find("newspaper") != std::string::npos);
}

TEST_CASE("500 swatches take under 120 kB and the same bytes each time", "[sheet][burn]") {
  const shop::Shop shop = [] {
    shop::Shop large = demo_shop();
    large.vessels[0] = {"tall-jug", 120, 120, 260, 0};
    return large;
  }();
  const design::Grid grid = demo_grid(25, 20, 16);
  const std::string pdf = burn_pdf(burn_sheets(shop, grid));
  CHECK(pdf.size() < 120000);
  CHECK(pdf == burn_pdf(burn_sheets(shop, grid)));
  CHECK(frostcal::test::ask("qpdf --check FILE", pdf).status == 0);
  CHECK(frostcal::test::ask("pdffonts FILE", pdf).output.find("DejaVu") == std::string::npos);
}

TEST_CASE("ids stand under their swatches and clear of an earlier grid's", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  const design::Grid grid = demo_grid(3, 3, 3);
  SheetOptions options;
  options.earlier = {earlier_grid()};
  const auto alone = burn_sheets(shop, grid, options);
  for (const PlacedText& text : alone[0].marks.texts) CHECK(text.height_mm == 2.5);
  // An older swatch in the gap under A1 (neck on the left: towards the base is +x).
  design::Swatch older = grid.swatches[0];
  older.x_mm += 6.5;
  older.width_mm = 2;
  options.earlier[0].swatches = {older};
  const StandingBox taken = standing_box(older, shop.machine("bench"), shop.vessel("tall-jug"));
  const auto sheets = burn_sheets(shop, grid, options);
  CHECK(sheets[0].marks.unlabelled.empty());
  for (const StandingBox& box : sheets[0].marks.boxes) CHECK_FALSE(box.overlaps(taken));
}

TEST_CASE("what a shelved bottle bears is where it was burned, whichever machine burned it",
          "[sheet][burn][shelf]") {
  const shop::Shop shop = demo_shop();
  design::Grid first = earlier_grid();
  const auto drawn = burn_sheets(shop, first);
  design::Grid later = demo_grid(1, 1, 1);
  later.number = 8;
  later.machine = "barn";  // holds the neck on the right
  const auto shelved = shelved_bottles(shop, later.bottles(), {first});
  REQUIRE(shelved.size() == 1);
  const ShelvedBottle& bottle = shelved[0];
  CHECK(bottle.name == "amber-jug-1");
  CHECK(bottle.ids == std::vector<std::string>{"A1"});
  CHECK(bottle.flag_placed);
  CHECK(bottle.centre == CentreMark::cross);
  CHECK(bottle.shapes.size() == drawn[0].marks.shapes.size());
  // On bench y is to the right of who looks at the standing bottle.
  CHECK_THAT((bottle.places[0].left + bottle.places[0].right) / 2, WithinAbs(30, 1e-9));
  // Nothing of the later grid is engraved over the name, the flag or the ids of the first.
  later.swatches[0].x_mm = -40.0;
  later.swatches[0].y_mm = 12.0;
  SheetOptions options;
  options.earlier = {first};
  const auto sheets = burn_sheets(shop, later, options);
  for (const StandingBox& box : sheets[0].marks.boxes)
    for (const StandingBox& engraved : drawn[0].marks.boxes) CHECK_FALSE(box.overlaps(engraved));
  // Ids of a second grid on a bottle carry its number; a third one's map tells them so.
  later.machine = "bench";
  design::Grid third = later;
  third.number = 9;
  const auto twice = shelved_bottles(shop, third.bottles(), {first, later});
  REQUIRE(twice.size() == 1);
  CHECK(twice[0].ids == std::vector<std::string>{"A1", "8-A1"});
  third.swatches[0].bottle = "amber-jug-2";
  CHECK(shelved_bottles(shop, third.bottles(), {first, later}).empty());
}

TEST_CASE("engraved ids are read back from the pixels as they were drawn", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  for (const auto& [machine, renderer] : {std::pair{"bench", Renderer::poppler}, {"barn", Renderer::mupdf}}) {
    design::Grid grid = demo_grid(2, 3, 4);
    grid.machine = machine;
    const auto sheets = burn_sheets(shop, grid);
    const BurnSheet& sheet = sheets[0];
    const StandingFrame frame(shop.machine(machine), shop.vessel("tall-jug"));
    const Raster raster = render(renderer, burn_pdf(sheets), 1, kDpi);
    for (const PlacedText& text : sheet.marks.texts) {
      const auto outlines = stroke_text(text.text, text.height_mm);
      int wrong = 0;
      int tried = 0;
      for (double u = 0.05; u < text.box.right - text.box.left; u += 0.1)
        for (double v = 0.05; v < text.height_mm; v += 0.1) {
          // Places within 0.04 mm of an edge are left out: renderers paint every pixel that a fill touches.
          int corners = 0;
          for (const double du : {-0.04, 0.04})
            for (const double dv : {-0.04, 0.04})
              corners += std::any_of(outlines.begin(), outlines.end(),
                                     [&](const auto& outline) { return inside(outline, u + du, v + dv); })
                             ? 1
                             : 0;
          if (corners % 4 != 0) continue;
          const bool drawn = corners == 4;
          const Point at = frame.on_page(StandingPoint{text.box.left + u, text.box.bottom + v});
          const bool seen = raster.at_mm(at.x_mm, at.y_mm, kDpi) == channels(sheet.plan.mark_ink);
          wrong += drawn != seen ? 1 : 0;
          ++tried;
        }
      INFO(text.text << " on " << machine);
      CHECK(wrong <= 2);  // a sharp corner between the four places looked at
      CHECK(tried > 100);
    }
  }
}

// What the pixels are compared with above: on the page the neck lies to the left or to the right, and the
// wall is seen from outside. Standing the bottle up brings the neck to the top, so the page turns by 90
// degrees.
TEST_CASE("letters stand upright and read to the right once the neck points up", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  for (const auto& [machine, to_neck] : {std::pair{"bench", -1.0}, {"barn", 1.0}}) {
    CAPTURE(machine);
    const StandingFrame frame(shop.machine(machine), shop.vessel("tall-jug"));
    const Point middle = frame.on_page(StandingPoint{0, 0});
    const Point higher = frame.on_page(StandingPoint{0, 1});
    const Point further_right = frame.on_page(StandingPoint{1, 0});
    CHECK_THAT(higher.x_mm - middle.x_mm, WithinAbs(to_neck, 1e-12));
    CHECK_THAT(higher.y_mm - middle.y_mm, WithinAbs(0, 1e-12));
    // A quarter turn clockwise from "up": page y points up.
    CHECK_THAT(further_right.x_mm - middle.x_mm, WithinAbs(0, 1e-12));
    CHECK_THAT(further_right.y_mm - middle.y_mm, WithinAbs(-to_neck, 1e-12));
  }
}

TEST_CASE("a burn's time is that of the scan lines on which each fill is drawn", "[sheet][burn][time]") {
  shop::Shop shop = demo_shop();
  shop::Machine& machine = shop.machines[0];
  design::Grid grid = demo_grid(1, 2, 1);
  // By pixels: every pixel of the page, rendered at the burn's dpi, lies on the line of its row.
  const auto by_pixels = [&](const BurnSheet& sheet) {
    const auto raster = frostcal::test::render(
        Renderer::poppler, to_pdf({"burn", "en", std::nullopt, {sheet.page}}), 1, sheet.plan.dpi);
    double seconds = 0;
    std::vector<Ink> timed;
    for (const RecipeFill& fill : sheet.plan.fills) {
      if (std::find(timed.begin(), timed.end(), fill.ink) != timed.end()) continue;
      timed.push_back(fill.ink);
      for (int y = 0; y < raster.rows; ++y) {
        int first = -1;
        int last = -1;
        for (int x = 0; x < raster.columns; ++x) {
          const auto pixel = raster.at(x, y);
          if (pixel[0] != fill.ink.red || pixel[1] != fill.ink.green || pixel[2] != fill.ink.blue) continue;
          if (first < 0) first = x;
          last = x;
        }
        if (first >= 0)
          seconds += fill.setting.passes * ((last - first + 1) * shop::pitch_mm(sheet.plan.dpi) /
                                                machine.scan_speed_mm_s(fill.setting.speed_pct) +
                                            machine.turnaround_s);
      }
    }
    return seconds;
  };
  for (const auto& [rows, columns, recipes, tone] :
       {std::tuple{1, 2, 1, 100.0}, {3, 4, 6, 100.0}, {3, 4, 12, 100.0}}) {
    grid = demo_grid(rows, columns, recipes, tone);
    grid.swatches[0].setting.passes = 2;
    const auto sheets = burn_sheets(shop, grid);
    REQUIRE(sheets.size() == 1);
    CAPTURE(rows, columns, recipes, tone);
    CHECK_THAT(sheets[0].seconds, Catch::Matchers::WithinRel(by_pixels(sheets[0]), 0.03));
    CHECK(burn_seconds(sheets) == sheets[0].seconds);
  }
  // Dots are scanned as far as their square reaches (a renderer blends them, so no pixels here).
  CHECK_THAT(burn_seconds(burn_sheets(shop, demo_grid(2, 3, 3, 60))),
             Catch::Matchers::WithinRel(burn_seconds(burn_sheets(shop, demo_grid(2, 3, 3))), 0.02));
  // Two alike on the same lines are scanned as one: 8 mm + 4 mm between + 8 mm.
  BurnPlan plan = burns_of(demo_grid(1, 2, 1), {})[0];
  plan.fills = {{}};
  plan.fills[0].setting = demo_grid(1, 1, 1).swatches[0].setting;
  Page page(100, 100);
  page.rectangle(10, 10, 8, 8, kBlack);
  page.rectangle(22, 10, 8, 8, kBlack);
  const auto lines = static_cast<double>(std::lround(8 / (25.4 / 300)));
  CHECK_THAT(drawn_seconds(page, plan, machine), WithinAbs(lines * (20 / 480.0 + 0.05), 0.1));
}

TEST_CASE("a page per burn, in order", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  design::Grid grid = demo_grid(3, 3, 3);
  for (std::size_t i = 0; i < grid.swatches.size(); ++i) {
    grid.swatches[i].burn = 3 - static_cast<int>(i / 3);
    grid.swatches[i].bottle = "jug-" + std::to_string(i / 3);
  }
  const auto sheets = burn_sheets(shop, grid);
  REQUIRE(sheets.size() == 3);
  for (int i = 0; i < 3; ++i) CHECK(sheets[static_cast<std::size_t>(i)].plan.burn == i + 1);
  CHECK(sheets[0].plan.bottle == "jug-2");
  const std::string facts = frostcal::test::ask("pdfinfo FILE", burn_pdf(sheets)).output;
  CHECK(facts.find("Pages:           3") != std::string::npos);
}

TEST_CASE("nothing is engraved where the rotary does not let the laser reach", "[sheet][burn]") {
  shop::Shop shop = demo_shop();
  shop.vessels[0].panel_mm = 200;
  for (shop::Machine& machine : shop.machines) machine.rotary.max_length_mm = 60;
  for (const int columns : {1, 3, 4}) {  // with the cross on the centre, beside it, and filling the length
    design::Grid grid = demo_grid(3, columns, 3);
    for (const char* machine : {"bench", "barn"}) {
      grid.machine = machine;
      const BurnSheet sheet = burn_sheets(shop, grid).at(0);
      CAPTURE(columns, machine);
      CHECK(sheet.page.width_mm() == 200);  // so that centring the page still centres the bottle
      CHECK(sheet.marks.flag_placed);
      CHECK(sheet.marks.centre != CentreMark::none);
      for (const Element& element : sheet.page.elements())
        for (const Point& corner : std::get<Fill>(element).outline) CHECK(std::abs(corner.x_mm - 100) <= 30);
    }
  }
}

TEST_CASE("on a steep taper the gap between swatches is kept on the glass", "[sheet][burn]") {
  shop::Shop shop = demo_shop();
  shop.machines[0].recipes_per_burn = 40;
  for (const auto& [neck, base] : {std::pair{30.0, 90.0}, std::pair{90.0, 30.0}}) {
    const shop::Vessel steep{"tall-jug", neck, base, 100, 0};
    shop.vessels[0] = steep;
    design::PlacementOptions options;
    options.swatch_mm = 12;
    std::vector<design::PlannedSwatch> planned(40);
    for (std::size_t i = 0; i < planned.size(); ++i)
      planned[i].setting = {20.0 + static_cast<double>(i), 40, 300, 100, "stucki", 1};
    design::Grid grid = demo_grid(1, 1, 1);
    grid.swatches = design::place_swatches(planned, {{"a", {}}, {"b", {}}}, shop.machines[0], steep, options);
    for (const BurnSheet& sheet : burn_sheets(shop, grid)) {
      std::vector<const Fill*> swatches;
      for (const Element& element : sheet.page.elements()) {
        const Fill& fill = std::get<Fill>(element);
        if (fill.mark.rfind("swatch", 0) == 0) swatches.push_back(&fill);
      }
      int neighbours = 0;
      for (const Fill* one : swatches)
        for (const Fill* other : swatches) {
          const double left = std::max(one->outline[0].x_mm, other->outline[0].x_mm);
          const double right = std::min(one->outline[2].x_mm, other->outline[2].x_mm);
          const double gap = other->outline[0].y_mm - one->outline[2].y_mm;
          if (one == other || left >= right || other->outline[0].y_mm < one->outline[0].y_mm) continue;
          ++neighbours;
          // A page millimetre round the bottle is d / d0 of glass; the neck lies to the left.
          const double d0 = (neck + base) / 2;
          for (const double x : {left, right}) CHECK(gap * (neck + (base - neck) * x / 100) / d0 > 4 - 1e-6);
        }
      CHECK(neighbours > 10);
    }
  }
}

TEST_CASE("a light tone is drawn with as many dots as it says", "[sheet][burn]") {
  const shop::Shop shop = demo_shop();
  for (const double tone : {5.0, 10.0, 20.0}) {
    design::Grid grid = demo_grid(1, 2, 2, tone);
    for (design::Swatch& swatch : grid.swatches) {
      swatch.width_mm = swatch.height_mm = 5;
      swatch.setting.dpi = 250;
    }
    const BurnSheet sheet = burn_sheets(shop, grid).at(0);
    int images = 0;
    for (const Element& element : sheet.page.elements()) {
      const Image* image = std::get_if<Image>(&element);
      if (image == nullptr || image->kind != PixelKind::rgb) continue;
      ++images;
      int dots = 0;
      for (std::size_t i = 0; i < image->pixels.size(); i += 3)
        dots += image->pixels.compare(i, 3, "\xff\xff\xff") != 0 ? 1 : 0;
      CAPTURE(tone, image->columns, image->rows);
      CHECK_THAT(100.0 * dots / (image->columns * image->rows), WithinAbs(tone, 0.015 * tone));
    }
    CHECK(images > 0);
  }
}
