#include <catch2/catch.hpp>

#include "report/fit_report.hpp"
#include "report/job_card.hpp"
#include "report/wall_card.hpp"
#include "sheet/caution_text.hpp"
#include "sheet/pdf_writer.hpp"
#include "sheet/text_width.hpp"
#include "support/rendered_page.hpp"
#include "unit/report/page_samples.hpp"

using namespace frostcal;
using namespace frostcal::report;
using sheet::Page;
using sheet::Text;

namespace {

std::string words_of(const std::vector<Page>& pages) {
  std::string words;
  for (const Page& page : pages)
    for (const sheet::Element& element : page.elements())
      if (const Text* text = std::get_if<Text>(&element)) words += text->text + " ";
  return words;
}

bool says(const std::vector<Page>& pages, const std::string& text) {
  return words_of(pages).find(text) != std::string::npos;
}

/// Everything lies in the area that both papers share, page numbers aside.
void check_area(const Page& page, double width, double height) {
  const double left = (page.width_mm() - width) / 2 - 1e-6;
  const double bottom = (page.height_mm() - height) / 2 - 1e-6;
  for (const sheet::Element& element : page.elements()) {
    const Text* text = std::get_if<Text>(&element);
    if (text == nullptr || text->text.rfind("page ", 0) == 0) continue;
    CHECK(text->at.x_mm >= left);
    CHECK(text->at.x_mm <= page.width_mm() - left);
    CHECK(text->at.y_mm >= bottom);
    CHECK(text->at.y_mm <= page.height_mm() - bottom);
  }
}

/// No two level texts on a page cover one another.
void check_apart(const Page& page) {
  struct Box {
    std::string text;
    double left, right, bottom, top;
  };
  std::vector<Box> boxes;
  for (const sheet::Element& element : page.elements()) {
    const Text* text = std::get_if<Text>(&element);
    if (text == nullptr || text->turn_degrees != 0) continue;
    const double width = sheet::text_width_mm(text->text, text->face, text->size_mm);
    const double part = text->align == sheet::Align::left ? 0 : text->align == sheet::Align::right ? 1 : 0.5;
    const double left = text->at.x_mm - part * width;
    boxes.push_back({text->text, left, left + width, text->at.y_mm, text->at.y_mm + 0.7 * text->size_mm});
  }
  for (std::size_t i = 0; i < boxes.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) {
      const bool apart = boxes[i].right <= boxes[j].left || boxes[j].right <= boxes[i].left ||
                         boxes[i].top <= boxes[j].bottom || boxes[j].top <= boxes[i].bottom;
      INFO(boxes[i].text << " over " << boxes[j].text);
      CHECK(apart);
    }
}

}  // namespace

TEST_CASE("cards and report print in full what is to be typed, and nothing overlaps", "[report][pages]") {
  const std::string long_name = "recycled-blue-of-the-second-supplier-42";
  for (const double power : {33.75, 8.125, 40.3922, 100.0})
    for (const double speed : {16.25, 99.9922})
      for (const double tone : {100.0, 62.25})
        for (const std::string& name : {std::string("amber-jug"), long_name}) {
          const shop::Setting setting{power, speed, 1200, tone, "jarvis-judice-ninke", 3};
          const std::string typed[] = {shop::dial_text(power), shop::dial_text(speed)};
          std::vector<WallCardRow> rows(8, report::test::card_rows()[0]);
          for (std::size_t i = 0; i < rows.size(); ++i) {
            rows[i].glass = name;
            rows[i].machine = i % 2 == 0 ? "bench" : long_name;
            rows[i].setting = setting;
            rows[i].tolerance_pct = 0;
            rows[i].status = i % 3 == 0 ? "provisional" : "stale";
          }
          JobCard job = report::test::job();
          job.setting = setting;
          GlassReport glass = report::test::glass_report();
          glass.choice.best->setting = setting;
          for (const std::size_t count : {1, 3, 8}) {
            rows.resize(8, rows[0]);
            rows.resize(count);
            const auto wall = wall_card({"Saltings Farm Shop", "2026-11-25"}, rows);
            for (const std::string& text : typed) CHECK(says(wall, " " + text + " "));
            if (tone < 100) CHECK(says(wall, ", tone 62.25 % jarvis-judice-ninke, 3 passes "));
            check_apart(wall[0]);
          }
          const auto card = job_card(job);
          const auto pages = fit_report(report::test::report_head(), {glass});
          for (const std::string& text : typed) {
            CHECK(says({card}, " " + text + " "));
            CHECK(says(pages, " " + text + " % "));
          }
          if (tone < 100) CHECK(says({card}, "tone %, jarvis-judice-ninke 62.25 "));
          if (tone < 100) CHECK(says(pages, "tone, jarvis-judice-ninke 62.25 % "));
          check_apart(card);
          check_area(card, 190, 259);
        }
}

TEST_CASE("the fit report says what was found, glass by glass", "[report][pages]") {
  const GlassReport glass = report::test::glass_report();
  GlassReport unknown;
  unknown.choice.glass = "clear-cruet";
  unknown.choice.machine = "barn";
  for (const shop::Paper paper : {shop::Paper::a4, shop::Paper::letter}) {
    ReportHead head = report::test::report_head();
    head.paper = paper;
    const auto pages = fit_report(head, {glass, unknown});
    for (const char* part : {"amber-jug", "60 %", "0.95", "0.82 to 0.98", "Limited by: frost",
                             "B2 does not agree", "300 dpi", "250 dpi", "5/0 4/\u2013", "2026-11-25",
                             "grid 0007-amber-jug", "clear-cruet", "No setting can be named yet"}) {
      INFO(part);
      CHECK(says(pages, part));
    }
    for (const Page& page : pages) check_area(page, 190, 259);
  }
}

TEST_CASE("a report's target is not rounded to certainty", "[report][pages]") {
  ReportHead head = report::test::report_head();
  head.target = 0.996;
  const auto pages = fit_report(head, {report::test::glass_report()});
  CHECK(says(pages, "target 0.996 for"));
  CHECK_FALSE(says(pages, "1.00"));
}

TEST_CASE("a report's maps of other tones stay on the page", "[report][pages]") {
  GlassReport glass = report::test::glass_report();
  for (ChanceMap& map : glass.maps) {
    map.tone_pct = 62.5;
    map.passes = 2;
    map.others = 110;
  }
  glass.choice.best->setting.tone_pct = 62.5;
  glass.choice.best->setting.passes = 2;
  for (const shop::Paper paper : {shop::Paper::a4, shop::Paper::letter}) {
    ReportHead head = report::test::report_head();
    head.paper = paper;
    const auto pages = fit_report(head, {glass});
    CHECK(says(pages, "tone 62.5 %, 2 passes"));
    CHECK(says(pages, "110 not shown"));
    CHECK(says(pages, "Swatches of other tones or passes are not shown"));
    for (const Page& page : pages) check_area(page, 190, 259);
  }
}

TEST_CASE("the wall card holds eight glasses a page and can be read from afar", "[report][pages]") {
  std::vector<WallCardRow> rows;
  for (int i = 0; i < 4; ++i)
    for (const WallCardRow& row : report::test::card_rows()) rows.push_back(row);
  for (const shop::Paper paper : {shop::Paper::a4, shop::Paper::letter}) {
    const auto pages = wall_card({"Saltings Farm Shop", "2026-11-25", paper}, rows);
    REQUIRE(pages.size() == 2);
    for (const Page& page : pages) {
      CHECK(page.width_mm() > page.height_mm());
      check_area(page, 259, 190);
      for (const std::string& caution : sheet::short_cautions()) {
        INFO(caution);
        CHECK(words_of({page}).find(caution.substr(0, 20)) != std::string::npos);
      }
    }
    for (const char* part : {"amber-jug", "72.5", "tone 60 % floyd-steinberg, 2 passes", "stale",
                             "provisional", "power may drift \u00b17.5 %", "1.6 min / 10 cm\u00b2"})
      CHECK(says(pages, part));
    double least = 100;
    for (const sheet::Element& element : pages[0].elements())
      if (const Text* text = std::get_if<Text>(&element)) {
        least = std::min(least, text->size_mm);
        if (text->text == "72.5") CHECK(text->size_mm >= 9);
        if (text->text.find("Covers shut") == 0) CHECK(text->size_mm >= 5);
      }
    CHECK(least >= 3.6);
  }
  CHECK(says(wall_card({"Shop", "2026-11-25", shop::Paper::a4}, {}), "No setting has been adopted yet."));
}

TEST_CASE("a stale promise is never shown as one that holds", "[report][pages]") {
  WallCardRow row = report::test::card_rows().front();
  JobCard job = report::test::job();
  const auto wall = [&] { return wall_card({"Shop", "2026-11-25", shop::Paper::a4}, {row}); };
  CHECK_FALSE(says(wall(), "no longer holds"));
  CHECK(says({job_card(job)}, "Chance of an acceptable piece 0.95 (settled)"));
  row.status = job.status = "stale";
  CHECK(says(wall(), "was 0.95"));
  CHECK(says(wall(), "no longer holds"));
  CHECK(says({job_card(job)}, "0.95 when adopted, which no longer holds (stale)"));
  job.chance_today = 0.76;
  CHECK(says({job_card(job)}, "0.76 today, 0.95 when adopted (stale)"));
  CHECK_FALSE(says({job_card(job)}, "power may drift"));
}

TEST_CASE("no room for drift is said in words", "[report][pages]") {
  WallCardRow row = report::test::card_rows().front();
  JobCard job = report::test::job();
  job.tolerance_pct = row.tolerance_pct = 0;
  for (const std::vector<Page>& pages :
       {wall_card({"Shop", "2026-11-25", shop::Paper::a4}, {row}), {job_card(job)}}) {
    CHECK(says(pages, "no room for power to drift"));
    CHECK_FALSE(says(pages, "\u00b1"));
  }
  job.tolerance_pct = row.tolerance_pct = 0.5;
  CHECK(says(wall_card({"Shop", "2026-11-25", shop::Paper::a4}, {row}), "power may drift \u00b10.5 %"));
  row.seconds_per_cm2 = 10;  // 64.5 s a square inch
  CHECK(says(wall_card({"Shop", "2026-11-25", shop::Paper::a4, shop::LengthUnit::inch}, {row}),
             "1.1 min / in\u00b2"));
  CHECK(says({job_card(job)}, "power may drift \u00b10.5 %"));
}

TEST_CASE("the job card is one page with the setting, the art and the cautions", "[report][pages]") {
  JobCard job = report::test::job();
  for (const double panel : {60.0, 95.0, 250.0}) {
    job.vessel.panel_mm = panel;
    job.glass.family = "lead-crystal";
    const Page page = job_card(job);
    CHECK(says({page}, "LEAD CRYSTAL"));
    CHECK(says({page}, panel > 110 ? "Drawn at" : "true to scale"));
    CHECK(says({page}, "How it came out"));
    CHECK(says({page}, "532 lines"));
  }
}

TEST_CASE("the job card keeps all of it on the page, however much there is", "[report][pages]") {
  JobCard job = report::test::job();
  job.glass.name = "a-glass-with-a-name-of-just-40-letters-x";
  job.glass.family = "lead-crystal";
  job.shop = "Saltings Farm Shop and Orchard at the end of the lane behind the mill";
  job.vessel.panel_mm = 140;
  job.art_width_mm = 120;
  job.art_height_mm = 260;
  for (int i = 0; i < 4; ++i)
    job.warnings.push_back("Warning " + std::to_string(i) +
                           ": the art crosses a mould seam: 132.2 mm lie between two seams. Seams frost "
                           "differently and chip sooner.");
  for (const shop::Paper paper : {shop::Paper::a4, shop::Paper::letter}) {
    job.paper = paper;
    const Page page = job_card(job);
    check_area(page, 190, 259);
    for (const std::string& part :
         {job.glass.name, std::string("2026-11-25"), std::string("Warning 3"), std::string("LEAD CRYSTAL"),
          std::string("How it came out"), std::string("note, name, date"), std::string("Diameter")}) {
      INFO(part);
      CHECK(says({page}, part));
    }
  }
}

TEST_CASE("few glasses on the wall are drawn larger, and a long name is not cut", "[report][pages]") {
  WallCardRow row = report::test::card_rows().front();
  row.glass = "a-glass-with-a-name-of-just-40-letters-x";
  const std::vector<Page> pages =
      wall_card({"Shop", "2026-11-25", shop::Paper::a4}, std::vector<WallCardRow>(6, row));
  REQUIRE(pages.size() == 1);
  CHECK(says(pages, row.glass));
  check_area(pages[0], 259, 190);
  double largest = 0;
  for (const sheet::Element& element : pages[0].elements())
    if (const Text* text = std::get_if<Text>(&element)) largest = std::max(largest, text->size_mm);
  CHECK(largest > 10.7);
}

TEST_CASE("reports are sound PDF and the same bytes each time", "[report][pages]") {
  const auto pdf = [] {
    return sheet::to_pdf(
        {"fit", "en", std::nullopt, fit_report(report::test::report_head(), {report::test::glass_report()})});
  };
  const std::string bytes = pdf();
  CHECK(bytes == pdf());
  CHECK(frostcal::test::ask("qpdf --check FILE", bytes).status == 0);
  CHECK(frostcal::test::ask("pdftotext FILE - 2>/dev/null", bytes).output.find("Grades seen and expected") !=
        std::string::npos);
}

TEST_CASE("the fit report says how the graders agree and what it costs", "[report][pages]") {
  for (const shop::Paper paper : {shop::Paper::a4, shop::Paper::letter}) {
    ReportHead head = report::test::report_head();
    head.paper = paper;
    const std::vector<Page> pages = fit_report(head, {report::test::graders_report()});
    for (const char* words :
         {"How the graders agree", "Ann, Bo", "0.87 (0.78 to 0.93)", "0.71 (0.49 to 0.85)", "Ann, J\u00f6rg",
          "0.41 (0.05 to 0.68)", "none graded", "+0.8 / +0.3", "Ann, over repeats", "one grade only",
          "Where graders differ", "\u2212"}) {
      INFO(words);
      CHECK(says(pages, words));
    }
    CHECK(says(pages, "B2, 0007-amber-jug C4"));
    for (const Page& page : pages) check_area(page, 190, 259);
  }
  CHECK_FALSE(
      says(fit_report(report::test::report_head(), {report::test::glass_report()}), "How the graders agree"));
}
