// A grid's folder: grids/NNNN-glass/grid.toml and swatches.csv.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "design/grid.hpp"
#include "shop/shop.hpp"

namespace frostcal::design {

struct GridFiles {
  std::filesystem::path folder;
  std::filesystem::path grid_toml;
  std::filesystem::path swatches_csv;
  std::filesystem::path burn_pdf;
  std::filesystem::path run_pdf;
};
GridFiles grid_files(const shop::Shop& shop, const std::string& grid_id);

/// results/NNNN-glass.csv
std::filesystem::path grades_file(const shop::Shop& shop, const std::string& grid_id);

/// Ids of all grid folders, in order of number; none when there is no folder grids/. A folder under grids/
/// that is not named NNNN-name is ignored.
std::vector<std::string> grid_ids(const shop::Shop& shop);

/// The id that a person meant: the full id, its number with or without zeros ("7"), or UserError with the
/// nearest known.
std::string resolve_grid_id(const shop::Shop& shop, const std::string& text);

/// Reads and checks both files. Throws UserError for a missing file, wrong value, or a swatches.csv that was
/// changed since it was planned (its checksum is kept in grid.toml).
Grid read_grid(const shop::Shop& shop, const std::string& grid_id);

/// The rows of swatches.csv from text; `name` is the file's name for messages. Throws UserError with every
/// fault.
std::vector<Swatch> parse_swatches(const std::string& text, const std::string& name);

/// What grid.toml says: the grid without its swatches, and what swatches.csv must be.
struct GridPlan {
  Grid grid;
  long swatches = 0;
  std::string swatches_crc32;
};
GridPlan parse_grid_toml(const std::string& text, const std::string& name, const std::string& grid_id);

/// Writes both files (new folder; refuses to replace an existing grid). grid.toml goes last, so a folder
/// without it is a plan whose program was killed. When the disk refuses, the new folder is taken away again.
void write_grid(const shop::Shop& shop, const Grid& grid);

std::string swatches_csv_text(const Grid& grid);
std::string grid_toml_text(const Grid& grid, const std::string& swatches_text);

}  // namespace frostcal::design
