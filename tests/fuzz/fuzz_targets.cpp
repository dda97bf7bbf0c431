#include "fuzz/fuzz_targets.hpp"

#include <optional>

#include "design/grid_file.hpp"
#include "errors/bug.hpp"
#include "errors/user_error.hpp"
#include "grades/cured_file.hpp"
#include "grades/grade_file.hpp"
#include "grades/grade_import.hpp"
#include "grades/piece_file.hpp"
#include "shop/shop_file.hpp"
#include "support/memory_file_system.hpp"
#include "support/sample_grid.hpp"
#include "table/settings_history.hpp"
#include "table/settings_table.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/toml_text.hpp"

namespace frostcal::fuzz {

namespace {

/// As a results file on a disk in memory: read, append a row (which mends a torn tail), read again.
void run_grades(const std::string& bytes) {
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  disk.put("/shop/results/0001-amber-jug.csv", bytes);
  const shop::Shop shop = test::sample_shop("/shop");
  const design::Grid grid = test::sample_grid();
  try {
    const std::size_t before = grades::read_grades(shop, grid, disk).size();
    grades::effective_grades(grid, grades::read_grades(shop, grid, disk));
    grades::append_grades(shop, grid, {{"A1", 4, 0, "n", "Ann", "2026-11-25T11:14:05Z", 0}}, disk);
    const std::vector<grades::GradeRow> after = grades::read_grades(shop, grid, disk);
    FROSTCAL_ASSERT(after.size() == before + 1, "an appended row is read back, and no other is lost");
    FROSTCAL_ASSERT(after.back().swatch == "A1" && after.back().note == "n", "as it was written");
  } catch (const errors::UserError&) {
  }
}

void run_grade_import(const std::string& bytes) {
  try {
    grades::parse_grade_import(bytes, "in.csv", test::sample_grid(), {"Ann", "2026-11-25T11:14:05Z"});
  } catch (const errors::UserError&) {
  }
}

/// Rows that were read are written and read again to the same values.
void run_pieces(const std::string& bytes) {
  errors::FaultList faults;
  const std::vector<grades::PieceRow> rows = grades::parse_pieces(bytes, "pieces.csv", faults);
  if (!faults.empty()) return;
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  const shop::Shop shop = test::sample_shop("/shop");
  for (const grades::PieceRow& row : rows) grades::append_pieces(shop, {row}, disk);
  const std::vector<grades::PieceRow> again = grades::read_pieces(shop, disk);
  FROSTCAL_ASSERT(again.size() == rows.size(), "every piece comes back");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    FROSTCAL_ASSERT(again[i].by == textfile::unguarded(textfile::guarded(rows[i].by)) &&
                        again[i].note == textfile::unguarded(textfile::guarded(rows[i].note)),
                    "text comes back as it was, but for control characters");
    FROSTCAL_ASSERT(again[i].frost == rows[i].frost && again[i].setting.dpi == rows[i].setting.dpi &&
                        again[i].burn.has_value() == rows[i].burn.has_value(),
                    "numbers come back as they were");
  }
}

/// As a file on a disk in memory: read, append a row (which mends a torn tail), read again.
void run_cured(const std::string& bytes) {
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  disk.put("/shop/results/cured-faults.csv", bytes);
  const shop::Shop shop = test::sample_shop("/shop");
  try {
    const std::size_t before = grades::read_cured(shop, disk).size();
    grades::append_cured(
        shop, {"bench", "lens cleaned", "2026-11-03T00:00:00Z", "Ann", "2026-11-05T11:14:05Z", 0}, disk);
    const std::vector<grades::CuredFault> after = grades::read_cured(shop, disk);
    FROSTCAL_ASSERT(after.size() == before + 1, "an appended row is read back, and no other is lost");
    FROSTCAL_ASSERT(after.back().cure == "lens cleaned" && after.back().by == "Ann", "as it was written");
  } catch (const errors::UserError&) {
  }
}

void run_shop_toml(const std::string& bytes) {
  try {
    textfile::check_toml_text(bytes, "shop.toml");
    shop::parse_shop(bytes, "shop.toml");
  } catch (const errors::UserError&) {
  }
}

void run_swatches(const std::string& bytes) {
  try {
    design::Grid grid = test::sample_grid();
    grid.swatches = design::parse_swatches(bytes, "swatches.csv");
    const std::string text = design::swatches_csv_text(grid);
    const std::vector<design::Swatch> again = design::parse_swatches(text, "swatches.csv");
    FROSTCAL_ASSERT(again.size() == grid.swatches.size(), "every swatch comes back");
    for (std::size_t i = 0; i < again.size(); ++i) {
      FROSTCAL_ASSERT(again[i].id == grid.swatches[i].id && again[i].role == grid.swatches[i].role,
                      "as it was written");
    }
  } catch (const errors::UserError&) {
  }
}

void run_grid_toml(const std::string& bytes) {
  try {
    textfile::check_toml_text(bytes, "grid.toml");
    design::parse_grid_toml(bytes, "grid.toml", "0001-amber-jug");
  } catch (const errors::UserError&) {
  }
}

/// The bytes with the first wrong checksum made right; nothing when none is wrong.
std::optional<std::string> with_checksum_mended(const std::string& bytes) {
  errors::FaultList faults;
  table::parse_history(bytes, "h.csv", faults);
  for (const errors::Fault& fault : faults.faults()) {
    const bool right_is_known =
        fault.expected.compare(0, 4, "crc-") == 0 || fault.expected.compare(0, 6, "after-") == 0;
    if (fault.place.field != "checksum" || !right_is_known) continue;
    std::size_t line = 0;  // where it starts
    for (int i = 1; i < fault.place.line && line != std::string::npos; ++i) {
      line = bytes.find('\n', line);
      if (line != std::string::npos) ++line;
    }
    if (line == std::string::npos) continue;
    const std::string found = fault.found.substr(1, fault.found.size() - 2);
    const std::size_t at = bytes.find(found, line);
    if (at == std::string::npos) continue;
    std::string mended = bytes;
    return mended.replace(at, found.size(), fault.expected.substr(0, fault.expected.find(' ')));
  }
  return std::nullopt;
}

/// The bytes with the checksums that the reader expects, so that damage elsewhere gets past them.
std::string with_right_checksums(const std::string& bytes) {
  std::string mended = bytes;
  for (int i = 0; i < 20; ++i) {
    const std::optional<std::string> better = with_checksum_mended(mended);
    if (!better) break;
    mended = *better;
  }
  return mended;
}

/// As the history on a disk in memory: read, record a row (which mends a torn tail and derives the table),
/// read again.
void record_in_history(const std::string& bytes) {
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  disk.put("/shop/results/settings-history.csv", bytes);
  const shop::Shop shop = test::sample_shop("/shop");
  table::HistoryRow row;
  row.row.glass = "amber-jug";
  row.row.machine = "bench";
  row.row.setting = {60, 40, 300, 100, "stucki", 1};
  row.row.chance = row.row.chance_high = 1;
  row.row.tolerance_pct = 5;
  row.row.seconds_per_cm2 = 1;
  row.row.adopted_by = "Ann";
  row.row.adopted_at = "2026-11-25T11:14:05Z";
  row.tool_version = "0.1.0";
  try {
    const std::vector<table::HistoryRow> before = table::read_history(shop, disk);
    table::record(shop, row, before, disk);
    const std::vector<table::HistoryRow> after = table::read_history(shop, disk);
    FROSTCAL_ASSERT(after.size() == before.size() + 1, "a recorded row is read back, and no other is lost");
    const std::string_view link = before.empty() ? table::kFirstLink : std::string_view(before.back().link);
    FROSTCAL_ASSERT(table::history_cells(after.back(), link) == table::history_cells(row, link),
                    "as it was written");
    FROSTCAL_ASSERT(table::table_is_current(shop, disk), "the table is what the history says");
  } catch (const errors::UserError&) {
  }
}

void run_history(const std::string& bytes) {
  record_in_history(bytes);
  record_in_history(with_right_checksums(bytes));
}

}  // namespace

const std::vector<Target>& targets() {
  static const std::vector<Target> all = {{"grades", run_grades},     {"grade_import", run_grade_import},
                                          {"pieces", run_pieces},     {"shop_toml", run_shop_toml},
                                          {"swatches", run_swatches}, {"grid_toml", run_grid_toml},
                                          {"history", run_history},   {"cured", run_cured}};
  return all;
}

}  // namespace frostcal::fuzz
