// Pages as they were last looked at and approved: a listing of what is drawn, and a checksum of its pixels.
//
// After a change that is meant, run `frostcal_tests "[approve]"`: it renders every page to golden-pages/ in
// the build folder, to be looked at, and rewrites the listings here; review them as part of the change.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "report/fit_report.hpp"
#include "report/job_card.hpp"
#include "report/wall_card.hpp"
#include "sheet/burn_page.hpp"
#include "sheet/pdf_writer.hpp"
#include "sheet/run_sheet.hpp"
#include "support/rendered_page.hpp"
#include "support/text_file.hpp"
#include "textfile/checksum.hpp"
#include "unit/report/page_samples.hpp"
#include "unit/sheet/demo_grid.hpp"

using namespace frostcal;
using sheet::Page;

namespace {

struct Golden {
  std::string name;
  std::vector<Page> pages;
};

std::vector<Golden> all_pages() {
  const shop::Shop shop = sheet::test::demo_shop();
  const design::Grid grid = sheet::test::demo_grid(4, 3, 6);
  design::Grid cruet = sheet::test::demo_grid(3, 4, 5, 60);
  cruet.glass = "clear-cruet";
  cruet.vessel = "cruet";
  cruet.machine = "barn";
  const auto sheets = sheet::burn_sheets(shop, grid);
  const auto taper = sheet::burn_sheets(shop, cruet);
  return {{"burn", sheet::burn_pages(sheets)},
          {"burn-taper-dots", sheet::burn_pages(taper)},
          {"run", sheet::run_sheet(shop, grid, sheets)},
          {"run-taper", sheet::run_sheet(shop, cruet, taper)},
          {"wall-card", report::wall_card({"Saltings Farm Shop", "2026-11-25", shop::Paper::a4},
                                          report::test::card_rows())},
          {"job-card", {report::job_card(report::test::job())}},
          {"fit-report", report::fit_report(report::test::report_head(), {report::test::glass_report()})},
          {"fit-report-graders",
           report::fit_report(report::test::report_head(), {report::test::graders_report()})}};
}

std::string listing_of(const Golden& golden) {
  std::string text;
  for (const Page& page : golden.pages) text += sheet::listing(page);
  return text;
}

std::string renderer_version() {
  const std::string text = test::ask("pdftoppm -v", "").output;
  return text.substr(0, text.find('\n'));
}

/// "pdftoppm version 22.12.0" and a line per page. Letters' edges depend on the renderer's version.
std::string pixels_of(const Golden& golden) {
  const std::string pdf = sheet::to_pdf({golden.name, "en", std::nullopt, golden.pages});
  std::string text = renderer_version() + "\n";
  for (std::size_t i = 0; i < golden.pages.size(); ++i) {
    const auto raster = test::render(test::Renderer::poppler, pdf, static_cast<int>(i) + 1, 150);
    const std::string bytes(raster.bytes.begin(), raster.bytes.end());
    text += "page " + std::to_string(i + 1) + " " + textfile::crc32_text(bytes) + "\n";
  }
  return text;
}

}  // namespace

TEST_CASE("pages are drawn as they were approved", "[golden]") {
  const std::filesystem::path folder(FROSTCAL_GOLDEN);
  for (const Golden& golden : all_pages()) {
    INFO(golden.name
         << ": if the change is meant, run frostcal_tests \"[approve]\" and look at golden-pages/");
    const std::string listing = listing_of(golden);
    const bool same = listing == test::read_text(folder / (golden.name + ".txt"));
    if (!same) {
      std::filesystem::create_directories(FROSTCAL_GOLDEN_PAGES);
      std::ofstream(std::filesystem::path(FROSTCAL_GOLDEN_PAGES) / (golden.name + ".txt"), std::ios::binary)
          << listing;
    }
    CHECK(same);
    const std::string approved = test::read_text(folder / (golden.name + ".pixels"));
    if (approved.rfind(renderer_version() + "\n", 0) == 0)
      CHECK(pixels_of(golden) == approved);
    else
      WARN(golden.name << ": pixels not compared, approved with another renderer");
  }
}

TEST_CASE("approve the pages as they are drawn now", "[.][approve]") {
  const std::filesystem::path folder(FROSTCAL_GOLDEN);
  const std::filesystem::path pictures(FROSTCAL_GOLDEN_PAGES);
  std::filesystem::create_directories(pictures);
  for (const Golden& golden : all_pages()) {
    std::ofstream(folder / (golden.name + ".txt"), std::ios::binary) << listing_of(golden);
    std::ofstream(folder / (golden.name + ".pixels"), std::ios::binary) << pixels_of(golden);
    const std::string pdf = sheet::to_pdf({golden.name, "en", std::nullopt, golden.pages});
    CHECK(test::ask("pdftoppm -png -r 100 FILE " + (pictures / golden.name).string(), pdf).status == 0);
  }
}
