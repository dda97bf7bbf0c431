// A grid's folder: grids/NNNN-glass/grid.toml and swatches.csv.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <utility>
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

inline constexpr std::size_t kMostGridDigits = 8;

/// "0007-amber-jug": four to eight digits, a dash, a name.
bool is_grid_id(const std::string& text);

/// Ids of all grid folders, in order of number; none when there is no folder grids/. A folder under grids/
/// that is not named NNNN-name is ignored.
std::vector<std::string> grid_ids(const shop::Shop& shop);

/// Ids NNNN-name of the files of grades under results/, whether or not there is such a grid; in order.
std::vector<std::string> graded_ids(const shop::Shop& shop);

/// "0007-amber-jug" -> 7
int number_of(const std::string& grid_id);

/// The number that the next grid gets: one that no grid and no file of grades bears, since old grades must
/// never count for new swatches.
int next_number(const shop::Shop& shop);

/// The id that a person meant: the full id, its number with or without zeros ("7"), or UserError with the
/// nearest known, or with all that bear the number.
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

/// A file for the grid's folder beside its own two: name and bytes.
using FolderFile = std::pair<std::string, std::string>;

/// Makes the grid's folder with grid.toml, swatches.csv and `more`, under the shop's lock and all at once: it
/// is there whole or not at all. False, and nothing is written, when the shop's grids are not `known` (any
/// more), by which this one was planned. Throws UserError when the grid is there, SystemError when the disk
/// refuses; a killed run leaves at most the folder ".NAME.tmp".
bool write_grid(const shop::Shop& shop, const Grid& grid, const std::vector<std::string>& known,
                const std::vector<FolderFile>& more);
/// The same whatever other grids there are.
void write_grid(const shop::Shop& shop, const Grid& grid);

std::string swatches_csv_text(const Grid& grid);
std::string grid_toml_text(const Grid& grid, const std::string& swatches_text);

}  // namespace frostcal::design
