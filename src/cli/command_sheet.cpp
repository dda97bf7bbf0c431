#include <ostream>

#include "cli/commands.hpp"
#include "cli/draw_sheets.hpp"
#include "cli/terminal.hpp"
#include "design/grid_file.hpp"
#include "shop/shop_file.hpp"

namespace frostcal::cli {

namespace {

ExitStatus run_sheet_command(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::string id = design::resolve_grid_id(shop, arguments.operands.at(0));
  const surface::ShopEvidence evidence = surface::read_evidence(shop);
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.id != id) continue;
    const GridSheets sheets = draw_sheets(shop, graded.grid, evidence, arguments.has("screen-here"));
    const InterruptDelay delay;
    write_sheets(shop, graded.grid, sheets);
  }
  const design::GridFiles files = design::grid_files(shop, id);
  streams.out << "Drew " << files.burn_pdf.string() << " and " << files.run_pdf.string() << '\n';
  return ExitStatus::done;
}

}  // namespace

Command sheet_command() {
  return {"sheet",
          "GRID",
          1,
          1,
          "draw a grid's burn pages and run sheet again",
          "Replaces burn.pdf and run.pdf in the grid's folder; positions and settings are those that were "
          "planned. GRID "
          "is a grid's number or its full name.",
          {{"screen-here", "", "turn grey tones into dots in the file instead of leaving that to the driver",
            false}},
          run_sheet_command};
}

}  // namespace frostcal::cli
