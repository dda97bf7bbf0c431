#include "sheet/run_sheet.hpp"

#include <catch2/catch.hpp>

#include "sheet/caution_text.hpp"
#include "sheet/pdf_writer.hpp"
#include "sheet/shown_number.hpp"
#include "support/rendered_page.hpp"
#include "unit/sheet/demo_grid.hpp"

using namespace frostcal;
using namespace frostcal::sheet;
using Catch::Matchers::WithinAbs;
using frostcal::sheet::test::demo_grid;
using frostcal::sheet::test::demo_shop;
using frostcal::test::render;
using frostcal::test::Renderer;

namespace {

std::vector<Page> sheet_for(const shop::Shop& shop, const design::Grid& grid) {
  return run_sheet(shop, grid, burn_sheets(shop, grid));
}

std::string words_of(const std::vector<Page>& pages) {
  const std::string pdf = to_pdf({"run", "en", std::nullopt, pages});
  std::string text = frostcal::test::ask("pdftotext -layout FILE - 2>/dev/null", pdf).output;
  std::string flat;
  for (const char c : text)
    if (c != '\n' && c != ' ') flat += c;
  return flat;
}

std::string squeezed(const std::string& text) {
  std::string flat;
  for (const char c : text)
    if (c != ' ') flat += c;
  return flat;
}

/// All texts in the order in which they are drawn, so that columns don't mix.
std::string drawn_words(const std::vector<Page>& pages) {
  std::string words;
  for (const Page& page : pages)
    for (const Element& element : page.elements())
      if (const Text* text = std::get_if<Text>(&element)) words += text->text;
  return squeezed(words);
}

}  // namespace

TEST_CASE("a small grid's run sheet is one page for A4 and Letter", "[sheet][run]") {
  shop::Shop shop = demo_shop();
  for (const shop::Paper paper : {shop::Paper::a4, shop::Paper::letter}) {
    shop.paper = paper;
    const auto pages = sheet_for(shop, demo_grid(4, 3, 4));
    REQUIRE(pages.size() == 1);
    const double side = (pages[0].width_mm() - 190) / 2;
    const double end = (pages[0].height_mm() - 259) / 2;
    for (const Element& element : pages[0].elements()) {
      if (const Fill* fill = std::get_if<Fill>(&element))
        for (const Point& point : fill->outline) {
          CHECK(point.x_mm >= side - 1e-6);
          CHECK(point.x_mm <= side + 190 + 1e-6);
          CHECK(point.y_mm >= end - 1e-6);
        }
      if (const Rule* rule = std::get_if<Rule>(&element)) {
        CHECK(rule->from.x_mm >= side - 1e-6);
        CHECK(rule->to.x_mm <= side + 190 + 1e-6);
        CHECK(rule->to.y_mm >= end - 1e-6);
      }
    }
  }
}

TEST_CASE("the run sheet says what to type, what to look for and what to beware of", "[sheet][run]") {
  const shop::Shop shop = demo_shop();
  const design::Grid grid = demo_grid(6, 4, 12);
  const std::string words = words_of(sheet_for(shop, grid));
  for (const std::string part : {"Grid7", "amber-jug", "300dpi", "thenplugtherotaryin", "100mm"}) {
    INFO(part);
    CHECK(words.find(part) != std::string::npos);
  }
  for (const std::string& label : shop.scale.frost) CHECK(words.find(squeezed(label)) != std::string::npos);
  for (const std::string& label : shop.scale.chipping)
    CHECK(words.find(squeezed(label)) != std::string::npos);
  for (const design::Swatch& swatch : grid.swatches) CHECK(words.find(swatch.id) != std::string::npos);
}

TEST_CASE("a used bottle is asked for first, and laid by the marks it bears", "[sheet][run][shelf]") {
  shop::Shop shop = demo_shop();
  design::Grid first = demo_grid(1, 1, 1);
  first.number = 6;
  first.swatches[0].y_mm = 30;
  const design::Grid grid = demo_grid(2, 2, 2);
  SheetOptions options;
  options.earlier = {first};
  for (const int seams : {0, 1, 2, 3}) {
    shop.vessels[0].seams = seams;
    const auto pages = run_sheet(shop, grid, burn_sheets(shop, grid, options));
    REQUIRE(pages.size() == 1);
    const std::string words = drawn_words(pages);
    const std::size_t take =
        words.find(squeezed("Take the used bottle amber-jug-1 from the shelf, not a fresh one"));
    REQUIRE(take != std::string::npos);
    CHECK(take < words.find("Laseroff"));
    CHECK(words.find(squeezed("its cross lies on the top line")) != std::string::npos);
    CHECK(words.find(squeezed("its flag pointing to the neck")) != std::string::npos);
    CHECK(words.find("(used)") != std::string::npos);
    CHECK(words.find("seamslie") == std::string::npos);  // any of three would do
    CHECK(words.find("idsandmarks") == std::string::npos);
    CHECK(words.find("+ids") != std::string::npos);
    CHECK(words.find("amarker") == std::string::npos);
    // The map: flag and cross in black, the earlier swatch dashed, with its name.
    int dashed = 0;
    int black = 0;
    for (const Element& element : pages[0].elements()) {
      if (const Rule* rule = std::get_if<Rule>(&element)) dashed += rule->dash_mm == 0.7;
      if (const Fill* fill = std::get_if<Fill>(&element))
        black += fill->ink == kBlack && fill->mark == "burned before";
    }
    CHECK(dashed == 4);
    CHECK(black == 5);
    CHECK(words.find(squeezed("dashed: burned before")) != std::string::npos);
  }
  // A fresh one beside it.
  design::Grid both = grid;
  both.swatches[2].bottle = both.swatches[3].bottle = "amber-jug-2";
  both.swatches[2].burn = both.swatches[3].burn = 2;
  const std::string words = drawn_words(run_sheet(shop, both, burn_sheets(shop, both, options)));
  CHECK(words.find(squeezed("Take the used bottle amber-jug-1 (burn 1) from the shelf, not a fresh one. "
                            "Fresh: amber-jug-2 (burn 2).")) != std::string::npos);
  CHECK(words.find("idsandmarks") != std::string::npos);
  CHECK(words.find("amarker") != std::string::npos);
  // A fresh one alone has no shelf to come from.
  CHECK(drawn_words(sheet_for(shop, grid)).find("shelf") == std::string::npos);
}

TEST_CASE("dozens of used bottles are asked for on as many pages as that takes", "[sheet][run][shelf]") {
  shop::Shop shop = demo_shop();
  for (const shop::Paper paper : {shop::Paper::a4, shop::Paper::letter})
    for (const std::string name :
         {"amber-jug-", "recycled-blue-flask-of-the-second-supplier-of-the-new-year-"})
      for (const int bottles : {12, 20, 35, 50}) {
        shop.paper = paper;
        design::Grid first = demo_grid(1, 1, 1);
        first.number = 6;
        first.swatches[0].y_mm = 30;
        design::Grid grid = demo_grid(1, 1, 1);
        for (int bottle = 1; bottle <= bottles; ++bottle)
          for (design::Grid* one : {&first, &grid}) {
            if (bottle > 1) one->swatches.push_back(one->swatches[0]);
            one->swatches.back().bottle = name + std::to_string(bottle);
            one->swatches.back().burn = bottle;
            one->swatches.back().id = "A" + std::to_string(bottle);
          }
        SheetOptions options;
        options.earlier = {first};
        INFO(bottles << " of " << name);
        const auto pages = run_sheet(shop, grid, burn_sheets(shop, grid, options));
        const double end = (pages[0].height_mm() - 259) / 2;
        std::size_t steps = 0;
        for (const Page& page : pages)
          for (const Element& element : page.elements()) {
            const Text* text = std::get_if<Text>(&element);
            if (text == nullptr || text->text.rfind("page ", 0) == 0) continue;
            CHECK(text->at.y_mm >= end - 1e-6);
            steps += text->text.rfind("Turn ", 0) == 0 ? 1 : 0;
          }
        CHECK(steps == 2);  // by hand, and all used bottles alike
        const std::string words = drawn_words(pages);
        CHECK(words.find(squeezed("Turn each used bottle until its cross lies on the top line")) !=
              std::string::npos);
        const std::string last = name + std::to_string(bottles);
        CHECK(words.find(squeezed(last + " (burn " + std::to_string(bottles) + ") from the shelf")) !=
              std::string::npos);
      }
}

TEST_CASE("a bottle's name stays whole on its map, however narrow that is", "[sheet][run]") {
  shop::Shop shop = demo_shop();
  for (const std::string name : {"flask-clear-3", "recycled-blue-flask-of-the-second-supplier-12"})
    for (const int bottles : {1, 4}) {
      design::Grid grid = demo_grid(1, 1, 1);
      std::vector<design::Swatch> all;
      for (int bottle = 1; bottle <= bottles; ++bottle) {
        design::Swatch swatch = grid.swatches[0];
        swatch.bottle = name + std::to_string(bottle);
        swatch.burn = bottle;
        swatch.id = "A" + std::to_string(bottle);
        all.push_back(swatch);
      }
      grid.swatches = all;
      for (const design::Swatch& swatch : grid.swatches) {
        bool whole = false;
        for (const Page& page : sheet_for(shop, grid))
          for (const Element& element : page.elements())
            if (const Text* text = std::get_if<Text>(&element)) whole = whole || text->text == swatch.bottle;
        INFO(swatch.bottle);
        CHECK(whole);
      }
    }
}

TEST_CASE("cautions stand on the sheet, lead crystal's first", "[sheet][run]") {
  shop::Shop shop = demo_shop();
  CHECK(cautions(shop.glasses[0])[0].find("local codes") != std::string::npos);
  shop.glasses[0].family = "lead-crystal";
  CHECK(cautions(shop.glasses[0])[0].find("LEAD CRYSTAL") == 0);
  // Every word of every caution is drawn, in order.
  std::string drawn;
  const auto pages = sheet_for(shop, demo_grid(2, 2, 2));
  for (const Element& element : pages[0].elements())
    if (const Text* text = std::get_if<Text>(&element)) drawn += text->text + " ";
  for (const std::string& caution : cautions(shop.glasses[0]))
    CHECK(squeezed(drawn).find(squeezed(caution)) != std::string::npos);
}

TEST_CASE("the bar measures 100 mm or 4 in in both renderers", "[sheet][run]") {
  shop::Shop shop = demo_shop();
  struct Bar {
    shop::LengthUnit units;
    std::string mark;
    double length_mm;
  };
  for (const Bar& bar :
       {Bar{shop::LengthUnit::mm, "100 mm bar", 100}, {shop::LengthUnit::inch, "4 in bar", 101.6}}) {
    shop.units = bar.units;
    const auto pages = sheet_for(shop, demo_grid(2, 2, 2));
    double y = 0;
    double x = 0;
    for (const Element& element : pages[0].elements())
      if (const Fill* fill = std::get_if<Fill>(&element); fill != nullptr && fill->mark == bar.mark) {
        x = fill->outline[0].x_mm;
        y = fill->outline[0].y_mm + 0.6;
      }
    REQUIRE(y > 0);
    const std::string pdf = to_pdf({"run", "en", std::nullopt, pages});
    for (const Renderer renderer : {Renderer::poppler, Renderer::mupdf}) {
      const auto raster = render(renderer, pdf, 1, 508);
      int black = 0;
      for (double at = x - 5; at < x + 104; at += 0.05) black += raster.at_mm(at, y, 508)[0] == 0 ? 1 : 0;
      CHECK_THAT(black * 0.05, WithinAbs(bar.length_mm, 0.15));
    }
  }
}

TEST_CASE("the grading page of a larger grid shows no setting", "[sheet][run]") {
  const auto pages = sheet_for(demo_shop(), demo_grid(6, 4, 12));
  REQUIRE(pages.size() == 2);
  const std::string words = words_of({pages[1]});
  CHECK(words.find("power") == std::string::npos);
  CHECK(words.find("dpi") == std::string::npos);
  CHECK(words.find("evenfrost") != std::string::npos);
}

TEST_CASE("500 swatches on several bottles still make a sheet", "[sheet][run]") {
  design::Grid grid = demo_grid(10, 5, 12);
  std::vector<design::Swatch> all;
  for (int bottle = 1; bottle <= 10; ++bottle)
    for (design::Swatch swatch : grid.swatches) {
      swatch.bottle = "amber-jug-" + std::to_string(bottle);
      swatch.burn = bottle;
      swatch.id += std::to_string(bottle);
      all.push_back(swatch);
    }
  grid.swatches = all;
  const auto pages = sheet_for(demo_shop(), grid);
  const std::string words = words_of(pages);
  for (const design::Swatch& swatch : grid.swatches) CHECK(words.find(swatch.id) != std::string::npos);
  CHECK(to_pdf({"run", "en", std::nullopt, pages}).size() < 400000);
}

TEST_CASE("numbers on sheets", "[sheet][run]") {
  CHECK(shown_number(12.50, 2) == "12.5");
  CHECK(shown_number(60, 2) == "60");
  CHECK(shown_number(-0.001, 2) == "0");
  CHECK(shown_number(-3.5, 1) == "\u22123.5");
  CHECK(fixed_number(0.36, 3) == "0.360");
  CHECK(shown_duration(59.2) == "60\u00a0s");
  CHECK(shown_duration(734) == "12.2\u00a0min");
  CHECK(shown_duration(191) == "3.2\u00a0min");  // was 4 on the card beside 3.2 on the terminal
  CHECK(shown_duration(3900) == "1\u00a0h\u00a005\u00a0min");
  CHECK(shown_length(88, shop::LengthUnit::mm) == "88\u00a0mm");
  CHECK(shown_length(88, shop::LengthUnit::inch) == "3.46\u00a0in");
  CHECK(shown_diameter(88, shop::LengthUnit::mm) == "88\u00a0mm");
  CHECK(shown_diameter(12, shop::LengthUnit::inch) == "0.472\u00a0in");  // 0.47 in would be 0.5 % off
}

TEST_CASE("on a taper the run sheet lists each swatch's dose and stars what is out of focus",
          "[sheet][run]") {
  const shop::Shop shop = demo_shop();
  design::Grid grid = demo_grid(2, 2, 2);
  grid.glass = "clear-cruet";
  grid.vessel = "cruet";
  CHECK(words_of(sheet_for(shop, grid)).find("Onthistaper") != std::string::npos);
  CHECK(words_of(sheet_for(shop, grid)).find("A2*") == std::string::npos);
  for (design::Swatch& swatch : grid.swatches) swatch.x_mm += 22;
  const std::string words = words_of(sheet_for(shop, grid));
  CHECK(words.find("A2*") != std::string::npos);
  // A2 lies 28 mm towards the base: 25 % of 60 W at 480 mm/s and 300 dpi, over 63.4 / 61.
  CHECK(words.find("0.355") != std::string::npos);
  CHECK(words_of(sheet_for(shop, demo_grid(2, 2, 2))).find("Onthistaper") == std::string::npos);
  CHECK(words.find("focusmm") != std::string::npos);
  shop::Shop inches = shop;
  inches.units = shop::LengthUnit::inch;
  const std::string in_inches = words_of(sheet_for(inches, grid));
  CHECK(in_inches.find("focusin") != std::string::npos);
  CHECK(in_inches.find("4in.Ifitmeasuresotherwise") != std::string::npos);
  CHECK(in_inches.find("1inonthepage") != std::string::npos);
  CHECK(in_inches.find("0.355") != std::string::npos);  // a dose stays in J/mm2
}
