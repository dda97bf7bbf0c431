#include "design/grid_file.hpp"

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <map>

#include "errors/ascii.hpp"
#include "errors/system_error.hpp"
#include "errors/user_error.hpp"
#include "shop/setting_cells.hpp"
#include "shop/shop_command.hpp"
#include "textfile/checksum.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/file_lock.hpp"
#include "textfile/number_text.hpp"
#include "textfile/open_file.hpp"
#include "textfile/phrases.hpp"
#include "textfile/read_file.hpp"
#include "textfile/toml_table.hpp"
#include "textfile/toml_text.hpp"

namespace frostcal::design {

namespace fs = std::filesystem;
using errors::Fault;
using errors::FaultList;
using errors::UserError;
using textfile::counted;
using textfile::format_fixed;
using textfile::format_number;

namespace {

constexpr int kFormat = 3;  // 1: without what the grid was planned for; 2: without the neck's side

const std::vector<std::string> kColumns = {"swatch",   "bottle",    "burn",      "x_mm",      "y_mm",
                                           "width_mm", "height_mm", "power_pct", "speed_pct", "dpi",
                                           "tone_pct", "screen",    "passes",    "role"};
enum Column { swatch, bottle, burn, x, y, width, height, power, speed, dpi, tone, screen, passes, role };

constexpr int kLastNumber = 99999999;  // of kMostGridDigits

bool is_swatch_id(const std::string& text) {
  return text.size() >= 2 && text.size() <= 5 && text[0] >= 'A' && text[0] <= 'Z' && text[1] != '0' &&
         std::all_of(text.begin() + 1, text.end(), errors::is_digit);
}

Role read_role(const textfile::CsvCell& cell, FaultList& faults) {
  for (const Role one : {Role::design, Role::repeat, Role::confirm, Role::reference}) {
    if (cell.text == to_text(one)) return one;
  }
  faults.add({cell.place, errors::quoted(cell.text), "design, repeat, confirm or reference", ""});
  return Role::design;
}

Swatch read_swatch(const textfile::CsvRow& row, FaultList& faults) {
  const auto number = [&](Column column, double low, double high) {
    return textfile::read_number_cell(row.cell(column), {low, high}, faults).value_or(low);
  };
  const auto whole = [&](Column column, double low, double high) {
    return static_cast<int>(textfile::read_integer_cell(row.cell(column), {low, high}, faults)
                                .value_or(static_cast<long long>(low)));
  };
  Swatch read;
  read.id = row.cell(swatch).text;
  if (!is_swatch_id(read.id)) {
    faults.add(
        {row.cell(swatch).place, errors::quoted(read.id), "a capital letter and a number, such as B7", ""});
  }
  read.bottle = row.cell(bottle).text;
  if (read.bottle.empty()) faults.add({row.cell(bottle).place, "an empty cell", "the bottle's name", ""});
  read.burn = whole(burn, 1, 10000);
  read.x_mm = number(x, -1000, 1000);
  read.y_mm = number(y, -2000, 2000);
  read.width_mm = number(width, 0.5, 200);
  read.height_mm = number(height, 0.5, 200);
  read.setting.power_pct = number(power, 0.1, 100);
  read.setting.speed_pct = number(speed, 0.1, 100);
  read.setting.dpi = whole(dpi, 20, 5000);
  read.setting.tone_pct = number(tone, 1, 100);
  read.setting.screen = row.cell(screen).text;
  read.setting.passes = whole(passes, 1, 100);
  read.role = read_role(row.cell(role), faults);
  return read;
}

std::string toml_string(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

std::vector<std::string> names_in(const fs::path& folder) {
  std::vector<std::string> names;
  const int listed = textfile::real_file_system().list(folder.string(), names);
  if (listed < 0 && listed != -ENOENT) {
    throw errors::SystemError(textfile::shown(folder), "list the folder", -listed);
  }
  return names;
}

/// A link to a folder is one too.
bool is_folder(const fs::path& path) {
  textfile::FileSystem& files = textfile::real_file_system();
  std::string resolved;
  textfile::FileStatus status;
  const int found = files.real_path(path.string(), resolved);
  if (found == -ENOENT || found == -ELOOP) return false;
  const int known = found < 0 ? found : files.link_status(resolved, status);
  if (known < 0) throw errors::SystemError(textfile::shown(path), "look at the folder", -known);
  return status.kind == textfile::FileKind::folder;
}

std::vector<std::string> by_number(std::vector<std::string> ids) {
  std::sort(ids.begin(), ids.end(), [](const std::string& a, const std::string& b) {
    return std::make_pair(number_of(a), a) < std::make_pair(number_of(b), b);
  });
  return ids;
}

/// What to do about a grid that can't be read any more.
std::string start_anew(const shop::Shop& shop, const GridFiles& files, const std::string& grid_id) {
  const fs::path grades = grades_file(shop, grid_id).lexically_normal();
  const std::string folder = "the folder " + files.folder.string();
  return textfile::exists(grades)
             ? "move " + folder + " and its grades, " + grades.string() +
                   ", out of the shop and plan again: they can't count for other swatches"
             : "remove " + folder + " and plan again";
}

/// Version control and editors may turn line ends into those of another system.
std::string with_plain_line_ends(std::string text) {
  std::size_t kept = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] != '\r' || i + 1 == text.size() || text[i + 1] != '\n') text[kept++] = text[i];
  }
  text.resize(kept);
  return text;
}

void make_grid_folder(const shop::Shop& shop, const Grid& grid, const std::vector<FolderFile>& more) {
  const fs::path folder = grid_files(shop, grid.id).folder;
  if (textfile::exists(folder)) {
    throw UserError(Fault{{folder.string(), 0, 0, ""}, "a grid that is already there", "a new grid", ""});
  }
  const fs::path unfinished = folder.parent_path() / ('.' + grid.id + ".tmp");
  std::error_code ignored;
  fs::remove_all(unfinished, ignored);  // of a killed run
  const std::string swatches = swatches_csv_text(grid);
  std::vector<FolderFile> contents{{"swatches.csv", swatches}, {"grid.toml", grid_toml_text(grid, swatches)}};
  contents.insert(contents.end(), more.begin(), more.end());
  textfile::FileSystem& files = textfile::real_file_system();
  try {
    for (const auto& [name, bytes] : contents) {
      textfile::durable_write_locked(shop.folder, unfinished / name, bytes, files);
    }
    const int renamed = files.rename(unfinished.string(), folder.string());
    if (renamed < 0) throw errors::SystemError(folder.string(), "make the folder", -renamed);
  } catch (...) {
    fs::remove_all(unfinished, ignored);  // the first refusal is what counts
    throw;
  }
  const int synced = textfile::sync_folder(files, folder.parent_path().string());
  if (synced < 0) {
    throw errors::SystemError(folder.string(),
                              "make durable (it is written, but may not survive a power cut)", -synced);
  }
}

}  // namespace

std::vector<Swatch> parse_swatches(const std::string& text, const std::string& name) {
  FaultList faults;
  const textfile::CsvTable table = textfile::read_csv(text, name, {kColumns, {}}, faults);
  std::vector<Swatch> swatches;
  std::map<std::string, int> lines;
  for (const textfile::CsvRow& row : table.rows) {
    swatches.push_back(read_swatch(row, faults));
    const auto [earlier, is_new] = lines.emplace(swatches.back().id, row.line());
    if (!is_new) {
      faults.add({row.cell(swatch).place, errors::quoted(swatches.back().id) + " a second time",
                  "each swatch once (first on line " + std::to_string(earlier->second) + ")", ""});
    }
  }
  if (swatches.empty() && faults.empty())
    faults.add({{name, 0, 0, ""}, "no swatch", "a row for each swatch", ""});
  faults.throw_if_any();
  return swatches;
}

GridFiles grid_files(const shop::Shop& shop, const std::string& grid_id) {
  const fs::path folder = (shop.folder / "grids" / grid_id).lexically_normal();
  return {folder, folder / "grid.toml", folder / "swatches.csv", folder / "burn.pdf", folder / "run.pdf"};
}

fs::path grades_file(const shop::Shop& shop, const std::string& grid_id) {
  return shop.folder / "results" / (grid_id + ".csv");
}

bool is_grid_id(const std::string& text) {
  const std::size_t dash = text.find('-');
  return dash != std::string::npos && dash >= 4 && dash <= kMostGridDigits && dash + 1 < text.size() &&
         std::all_of(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(dash), errors::is_digit);
}

std::vector<std::string> grid_ids(const shop::Shop& shop) {
  const fs::path folder = shop.folder / "grids";
  std::vector<std::string> ids;
  for (const std::string& name : names_in(folder)) {
    if (is_grid_id(name) && is_folder(folder / name)) ids.push_back(name);
  }
  return by_number(std::move(ids));
}

std::vector<std::string> graded_ids(const shop::Shop& shop) {
  std::vector<std::string> ids;
  for (const std::string& name : names_in(shop.folder / "results")) {
    const std::string id = fs::path(name).stem().string();
    if (name == id + ".csv" && is_grid_id(id)) ids.push_back(id);
  }
  return by_number(std::move(ids));
}

int number_of(const std::string& grid_id) {
  return std::atoi(grid_id.substr(0, grid_id.find('-')).c_str());
}

int next_number(const shop::Shop& shop) {
  int last = 0;
  for (const std::string& id : grid_ids(shop)) last = std::max(last, number_of(id));
  for (const std::string& id : graded_ids(shop)) last = std::max(last, number_of(id));
  if (last >= kLastNumber) {
    throw UserError(Fault{{textfile::shown(shop.folder), 0, 0, "grid"},
                          "number " + std::to_string(last) + ", the last that there is",
                          "a lower number",
                          "give that grid's folder under grids and its file under results a free number"});
  }
  return last + 1;
}

std::string resolve_grid_id(const shop::Shop& shop, const std::string& text) {
  const std::vector<std::string> ids = grid_ids(shop);
  if (std::find(ids.begin(), ids.end(), text) != ids.end()) return text;
  const bool is_number =
      !text.empty() && text.size() < 9 && std::all_of(text.begin(), text.end(), errors::is_digit);
  std::vector<std::string> meant;
  for (const std::string& id : ids) {
    if (is_number && number_of(id) == std::atoi(text.c_str())) meant.push_back(id);
  }
  if (meant.size() == 1) return meant.front();
  const errors::SourcePlace place{(shop.folder / "grids").lexically_normal().string(), 0, 0, "grid"};
  if (!meant.empty()) {
    throw UserError(Fault{place,
                          counted(static_cast<int>(meant.size()), "grid", "grids") + " of number " + text,
                          "one of " + textfile::joined(meant), "say the full name"});
  }
  const std::string near = errors::nearest(text, ids);
  throw UserError(Fault{place, "no grid " + errors::quoted(text),
                        ids.empty() ? "a planned grid" : "a number or one of " + textfile::joined(ids),
                        near.empty()
                            ? (ids.empty() ? "plan one first: " + shop::command_for(shop, "plan GLASS") : "")
                            : "did you mean " + near + "?"});
}

GridPlan parse_grid_toml(const std::string& text, const std::string& name, const std::string& grid_id) {
  FaultList faults;
  textfile::TomlTable table = textfile::TomlTable::parse(text, name, faults);
  GridPlan plan;
  Grid& grid = plan.grid;
  grid.id = grid_id;
  grid.number = number_of(grid_id);
  const long format = table.integer("format", {1, 1000, "the format's number"});
  if (format > kFormat) {
    table.fault("format", std::to_string(format), "at most " + std::to_string(kFormat),
                "this grid was planned by a newer frostcal; use that one");
  }
  grid.glass = table.text("glass", "the glass's name");
  grid.machine = table.text("machine", "the machine's name");
  grid.vessel = table.text("vessel", "the vessel's name");
  grid.design = table.text("design", "the design's name");
  grid.seed = static_cast<std::uint64_t>(table.integer("seed", {0, 9e15, "a whole number"}));
  grid.tool_version = table.text("frostcal", "the version that planned it");
  grid.planned_at = table.text("planned_at", "a time such as 2026-11-25T11:14:05Z");
  plan.swatches = table.integer("swatches", {1, 100000, "the number of swatches"});
  plan.swatches_crc32 = table.text("swatches_crc32", "eight hexadecimal digits");
  if (format > 1) {
    PlannedFor figures;
    figures.machine = table.text("planned_for", "the machine whose figures these are");
    figures.full_power_w = table.number("full_power_w", {0.001, 10000, "a power in W"});
    figures.top_speed_mm_s = table.number("top_speed_mm_s", {0.1, 100000, "a speed in mm/s"});
    figures.spot_mm = table.number("spot_mm", {0.0001, 100, "a diameter in mm"});
    figures.diameter_mm = table.number("diameter_mm", {0.1, 10000, "a diameter in mm"});
    if (format > 2) {
      const std::string neck = table.text("neck", "\"left\" or \"right\"");
      if (neck != "left" && neck != "right")
        table.fault("neck", errors::quoted(neck), "\"left\" or \"right\"", "");
      figures.neck = neck == "right" ? shop::Side::right : shop::Side::left;
    }
    grid.planned_for = figures;
  }
  table.finish();
  faults.throw_if_any();
  return plan;
}

Grid read_grid(const shop::Shop& shop, const std::string& grid_id) {
  const GridFiles files = grid_files(shop, grid_id);
  if (!textfile::exists(files.grid_toml)) {
    throw UserError(Fault{{files.grid_toml.string(), 0, 0, ""},
                          "no grid.toml",
                          "the plan of the grid",
                          "put it back from a copy; if there is none, " + start_anew(shop, files, grid_id)});
  }
  GridPlan plan = parse_grid_toml(textfile::read_toml_text(shop.folder, files.grid_toml),
                                  files.grid_toml.string(), grid_id);
  Grid grid = std::move(plan.grid);
  if (!textfile::exists(files.swatches_csv)) {
    throw UserError(Fault{{files.swatches_csv.string(), 0, 0, ""},
                          "no swatches.csv",
                          "the list of swatches that was planned",
                          "put it back from a copy; if there is none, " + start_anew(shop, files, grid_id)});
  }
  const std::string text = textfile::read_file(shop.folder, files.swatches_csv);
  grid.swatches = parse_swatches(text, files.swatches_csv.string());
  const std::string checksum = textfile::crc32_text(with_plain_line_ends(text));
  if (checksum != plan.swatches_crc32 || static_cast<long>(grid.swatches.size()) != plan.swatches) {
    throw UserError(
        Fault{{files.swatches_csv.string(), 0, 0, ""},
              "a file that was changed since it was planned (checksum " + checksum + ")",
              "the planned file (checksum " + plan.swatches_crc32 + ")",
              "put the planned file back; grades are entered with 'frostcal grade', never in this file"});
  }
  return grid;
}

std::string swatches_csv_text(const Grid& grid) {
  std::string text = textfile::csv_line(kColumns);
  for (const Swatch& one : grid.swatches) {
    text += textfile::csv_line({one.id, one.bottle, std::to_string(one.burn), format_fixed(one.x_mm, 2),
                                format_fixed(one.y_mm, 2), format_fixed(one.width_mm, 2),
                                format_fixed(one.height_mm, 2), shop::dial_cell(one.setting.power_pct),
                                shop::dial_cell(one.setting.speed_pct), std::to_string(one.setting.dpi),
                                shop::dial_cell(one.setting.tone_pct), textfile::guarded(one.setting.screen),
                                std::to_string(one.setting.passes), to_text(one.role)});
  }
  return text;
}

int format_of(const Grid& grid) {
  if (!grid.planned_for) return 1;
  return grid.planned_for->neck ? kFormat : 2;
}

std::string grid_toml_text(const Grid& grid, const std::string& swatches_text) {
  std::string figures;
  if (grid.planned_for) {
    figures = "\nplanned_for = " + toml_string(grid.planned_for->machine) +
              "\nfull_power_w = " + format_number(grid.planned_for->full_power_w) +
              "\ntop_speed_mm_s = " + format_number(grid.planned_for->top_speed_mm_s) +
              "\nspot_mm = " + format_number(grid.planned_for->spot_mm) +
              "\ndiameter_mm = " + format_number(grid.planned_for->diameter_mm);
    if (grid.planned_for->neck) figures += "\nneck = " + toml_string(shop::to_text(*grid.planned_for->neck));
  }
  return "# What was planned. Written by frostcal; not to be edited.\nformat = " +
         std::to_string(format_of(grid)) + "\nglass = " + toml_string(grid.glass) +
         "\nmachine = " + toml_string(grid.machine) + "\nvessel = " + toml_string(grid.vessel) +
         "\ndesign = " + toml_string(grid.design) + "\nseed = " + std::to_string(grid.seed) +
         "\nfrostcal = " + toml_string(grid.tool_version) + "\nplanned_at = " + toml_string(grid.planned_at) +
         figures + "\nswatches = " + std::to_string(grid.swatches.size()) +
         "\nswatches_crc32 = " + toml_string(textfile::crc32_text(swatches_text)) + "\n";
}

bool write_grid(const shop::Shop& shop, const Grid& grid, const std::vector<std::string>& known,
                const std::vector<FolderFile>& more) {
  const textfile::FileLock lock(shop.folder);
  if (grid_ids(shop) != known) return false;
  make_grid_folder(shop, grid, more);
  return true;
}

void write_grid(const shop::Shop& shop, const Grid& grid) {
  const textfile::FileLock lock(shop.folder);
  make_grid_folder(shop, grid, {});
}

}  // namespace frostcal::design
