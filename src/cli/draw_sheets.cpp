#include "cli/draw_sheets.hpp"

#include <cstdlib>
#include <functional>

#include "design/grid_file.hpp"
#include "design/placement.hpp"
#include "sheet/burn_page.hpp"
#include "sheet/pdf_writer.hpp"
#include "sheet/run_sheet.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_surface.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/number_text.hpp"

namespace frostcal::cli {

std::optional<std::int64_t> creation_time() {
  const char* epoch = std::getenv("SOURCE_DATE_EPOCH");
  const auto seconds = epoch == nullptr ? std::nullopt : textfile::parse_integer(epoch);
  if (!seconds || *seconds < 0) return std::nullopt;
  return static_cast<std::int64_t>(*seconds);
}

namespace {

// From what earlier grids taught of the glass on this machine. The same for `plan` and for `sheet` later.
std::function<double(const shop::Setting&)> readable_mark(const shop::Shop& shop, const design::Grid& grid,
                                                          const surface::ShopEvidence& evidence) {
  constexpr int kReadable = 2;  // "patchy" can still be read
  std::vector<surface::Observation> seen;
  for (const surface::GradedGrid& earlier : evidence.grids) {
    if (earlier.grid.number >= grid.number || earlier.grid.glass != grid.glass ||
        earlier.grid.machine != grid.machine)
      continue;
    const std::vector<surface::Observation> of_grid = surface::observations_of(shop, earlier);
    seen.insert(seen.end(), of_grid.begin(), of_grid.end());
  }
  if (seen.empty()) return {};
  const surface::ShopSurface surfaces = surface::fit_shop(seen, surface::shop_fit_options(shop));
  const std::string name = surface::surface_name(grid.glass, grid.machine);
  return [surfaces, name, machine = shop.machine(grid.machine)](const shop::Setting& setting) {
    const auto frost =
        surfaces.glass(name).grade_probabilities(surface::physical_setting(setting, machine)).frost;
    double readable = 0;
    for (std::size_t grade = kReadable; grade < frost.size(); ++grade) readable += frost[grade];
    return readable;
  };
}

}  // namespace

GridSheets draw_sheets(const shop::Shop& shop, const design::Grid& grid,
                       const surface::ShopEvidence& evidence, bool screen_here) {
  sheet::SheetOptions options;
  options.screen_here = screen_here;
  for (const surface::GradedGrid& graded : evidence.grids)
    if (graded.grid.number < grid.number) options.earlier.push_back(graded.grid);
  options.readable = readable_mark(shop, grid, evidence);
  const shop::Machine& machine = shop.machine(grid.machine);
  sheet::RunSheetOptions run_options;
  for (int burn = 1; burn <= grid.burns(); ++burn) {
    run_options.burn_seconds.push_back(design::burn_seconds(grid, burn, machine));
  }
  const std::vector<sheet::BurnSheet> sheets = sheet::burn_sheets(shop, grid, options);
  sheet::Document burn;
  burn.title = "Burn pages of grid " + grid.id;
  burn.created_at = creation_time();
  burn.pages = sheet::burn_pages(sheets);
  sheet::Document run = burn;
  run.title = "Run sheet of grid " + grid.id;
  run.pages = sheet::run_sheet(shop, grid, sheets, run_options);
  return {sheet::to_pdf(burn), sheet::to_pdf(run)};
}

void write_sheets(const shop::Shop& shop, const design::Grid& grid, const GridSheets& sheets) {
  const design::GridFiles files = design::grid_files(shop, grid.id);
  textfile::durable_write(shop.folder, files.burn_pdf, sheets.burn_pdf);
  textfile::durable_write(shop.folder, files.run_pdf, sheets.run_pdf);
}

}  // namespace frostcal::cli
