#include "sheet/taper_table.hpp"

#include <algorithm>

#include "sheet/paper_flow.hpp"
#include "sheet/shown_number.hpp"
#include "sheet/standing_frame.hpp"
#include "shop/setting.hpp"

namespace frostcal::sheet {

void draw_taper(PaperFlow& flow, const shop::Shop& shop, const design::Grid& grid) {
  const shop::Vessel& vessel = shop.vessel(grid.vessel);
  const shop::Machine& machine = shop.machine(grid.machine);
  if (!vessel.tapers()) return;
  const bool inches = shop.units == shop::LengthUnit::inch;
  const double scale = inches ? shop::kMmPerInch : 1;
  const std::string unit = inches ? "in" : "mm";
  constexpr int kColumns = 3;
  constexpr double kColumnWidth = kAreaWidth / kColumns;
  flow.down(3);
  flow.need(30);
  flow.heading("On this taper");
  flow.down(paragraph(&flow.page(),
                      "The wall's diameter changes along the panel, so each swatch gets its own dose, line "
                      "pitch and distance from focus. "
                      "* lies out of the depth of focus (" +
                          shown_number(machine.depth_of_focus_mm / scale, inches ? 3 : 1) + "\u00a0" + unit +
                          " either way) unless the top of the wall is levelled.",
                      flow.left(), flow.y(), kAreaWidth, {2.8, Face::regular, kBlack, 1.3}) +
            1.5);
  const std::size_t count = grid.swatches.size();
  std::size_t done = 0;
  while (done < count) {
    flow.need(14);
    const std::size_t left = count - done;
    const auto fits = static_cast<std::size_t>((flow.room() - 5) / 4.2);
    const std::size_t rows = std::min(fits, (left + kColumns - 1) / kColumns);
    Page& page = flow.page();
    for (std::size_t column = 0; column < kColumns && done < count; ++column) {
      const double x = flow.left() + static_cast<double>(column) * kColumnWidth;
      const auto cell = [&](double right, double y, const std::string& text, const Ink& ink, double size) {
        page.add(Text{{x + right, y}, size, text, Face::regular, Align::right, ink, 0});
      };
      cell(29, flow.y() - 3, "J/mm\u00b2", kQuiet, 2.5);
      cell(43, flow.y() - 3, "pitch " + unit, kQuiet, 2.5);
      cell(58, flow.y() - 3, "focus " + unit, kQuiet, 2.5);
      for (std::size_t row = 0; row < rows && done < count; ++row, ++done) {
        const design::Swatch& swatch = grid.swatches[done];
        const LocalWall wall = local_wall(swatch, machine, vessel);
        const double y = flow.y() - 7.2 - static_cast<double>(row) * 4.2;
        page.add(
            Text{{x, y}, 3, swatch.id + (wall.out_of_focus ? "*" : ""), Face::bold, Align::left, kBlack, 0});
        cell(29, y, fixed_number(wall.dose_j_mm2, 3), kBlack, 3);
        cell(43, y, fixed_number(wall.pitch_mm / scale, inches ? 5 : 4), kBlack, 3);
        cell(58, y, fixed_number(wall.defocus_mm / scale, inches ? 3 : 2), kBlack, 3);
      }
    }
    flow.down(5 + static_cast<double>(rows) * 4.2 + 3);
  }
}

}  // namespace frostcal::sheet
