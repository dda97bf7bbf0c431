#include "cli/draw_sheets.hpp"

#include "choice/sheet_options.hpp"
#include "cli/terminal.hpp"
#include "design/grid_file.hpp"
#include "sheet/burn_page.hpp"
#include "sheet/pdf_writer.hpp"
#include "sheet/run_sheet.hpp"
#include "textfile/durable_write.hpp"

namespace frostcal::cli {

GridSheets draw_sheets(const shop::Shop& shop, const design::Grid& grid,
                       const std::vector<sheet::BurnSheet>& burns) {
  sheet::Document burn;
  burn.title = "Burn pages of grid " + grid.id;
  burn.created_at = creation_time();
  burn.pages = sheet::burn_pages(burns);
  sheet::Document run = burn;
  run.title = "Run sheet of grid " + grid.id;
  run.pages = sheet::run_sheet(shop, grid, burns);
  return {sheet::to_pdf(burn), sheet::to_pdf(run)};
}

GridSheets draw_sheets(const shop::Shop& shop, const design::Grid& grid,
                       const surface::ShopEvidence& evidence, bool screen_here) {
  sheet::SheetOptions options = choice::sheet_options(shop, grid, evidence);
  options.screen_here = screen_here;
  return draw_sheets(shop, grid, sheet::burn_sheets(shop, grid, options));
}

void write_sheets(const shop::Shop& shop, const design::Grid& grid, const GridSheets& sheets) {
  const design::GridFiles files = design::grid_files(shop, grid.id);
  textfile::durable_write(shop.folder, files.burn_pdf, sheets.burn_pdf);
  textfile::durable_write(shop.folder, files.run_pdf, sheets.run_pdf);
}

}  // namespace frostcal::cli
