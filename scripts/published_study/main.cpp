// Turns the published chemical-vapour-deposition study (11 runs, two responses) into a shop folder, so that
// `frostcal fit --measured` runs on data that nobody made for it. Pressure stands in for power and the gas
// ratio for speed; both responses become measured columns of the results file. The study's fit is in codes
// rounded to two decimals, so the settings are laid out from those: coded over the range burned they give
// them back.
#include <cmath>
#include <exception>
#include <iostream>
#include <string>

#include "design/grid_file.hpp"
#include "shop/shop_file.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/number_text.hpp"
#include "textfile/read_file.hpp"

namespace {

using namespace frostcal;

constexpr const char* kShop = R"toml(# Made from a published study; no laser was involved.
[shop]
name = "Published study"

[[machine]]
name = "reactor"
rated_power_w = 100
top_speed_mm_s = 1000
spot_mm = 0.1
dpi = [300]
power_pct = { min = 5, max = 100, step = 0.1 }
speed_pct = { min = 5, max = 100, step = 0.1 }
screens = ["stucki"]

[[vessel]]
name = "wafer"
diameter_mm = 88
panel_mm = 95

[[glass]]
name = "cvd-study"
family = "other"
colour = "none"
vessel = "wafer"
)toml";

// Coded as published: (value - centre) / half_range, to two decimals.
double coded(double value, double centre, double half_range) {
  return std::round(100 * (value - centre) / half_range) / 100;
}

double dialled(double centre, double coded_value) {
  return std::round(10 * (centre + 40 * coded_value)) / 10;
}

design::Grid empty_grid() {
  design::Grid grid;
  grid.id = "0001-cvd-study";
  grid.number = 1;
  grid.glass = "cvd-study";
  grid.machine = "reactor";
  grid.vessel = "wafer";
  grid.design = "central-composite";
  grid.tool_version = "published study";
  grid.planned_at = "1997-01-01T00:00:00Z";  // the year it was published; its day is not known
  return grid;
}

void convert(const std::string& study, const std::string& folder) {
  errors::FaultList faults;
  const textfile::CsvTable table =
      textfile::read_csv(textfile::read_file("", study), study,
                         {{"run", "pressure_torr", "h2_wf6_ratio", "uniformity_pct", "stress"}, {}}, faults);
  design::Grid grid = empty_grid();
  std::string results = textfile::csv_line(
      {"swatch", "frost", "chipping", "note", "uniformity_pct", "stress", "grader", "graded_at"});
  for (const textfile::CsvRow& row : table.rows) {
    const auto pressure = textfile::read_number_cell(row.cell(1), {0, 1000}, faults);
    const auto ratio = textfile::read_number_cell(row.cell(2), {0, 100}, faults);
    if (!pressure || !ratio) continue;
    const int number = static_cast<int>(grid.swatches.size());
    design::Swatch swatch;
    const int row_number = number / 4;
    const int column_number = number % 4;
    swatch.id = std::string(1, static_cast<char>('A' + row_number)) + std::to_string(column_number + 1);
    swatch.bottle = "cvd-study-1";
    swatch.x_mm = -18.0 + 12.0 * column_number;
    swatch.y_mm = 12.0 - 12.0 * row_number;
    swatch.width_mm = swatch.height_mm = 8;
    swatch.setting = {
        dialled(55, coded(*pressure, 42, 38)), dialled(50, coded(*ratio, 6, 4)), 300, 100, "stucki", 1};
    grid.swatches.push_back(swatch);
    results += textfile::csv_line({swatch.id, "", "", "run " + row.cell(0).text, row.cell(3).text,
                                   row.cell(4).text, "published", "1997-01-01T00:00:00Z"});
  }
  faults.throw_if_any();
  textfile::durable_write(folder, shop::shop_file(folder), kShop);
  const shop::Shop shop = shop::read_shop(folder);
  design::write_grid(shop, grid);
  textfile::durable_write(folder, design::grades_file(shop, grid.id), results);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::cerr << "usage: frostcal_published_study STUDY.csv NEW_FOLDER\n"
                 "Columns: run, pressure_torr, h2_wf6_ratio, uniformity_pct, stress.\n";
    return 2;
  }
  try {
    convert(argv[1], argv[2]);
  } catch (const std::exception& fault) {
    std::cerr << fault.what() << '\n';
    return 2;
  }
  return 0;
}
