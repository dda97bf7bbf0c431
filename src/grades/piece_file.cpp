#include "grades/piece_file.hpp"

#include "errors/bug.hpp"
#include "grades/grade_cells.hpp"
#include "shop/setting_cells.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/number_text.hpp"
#include "textfile/open_file.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::grades {

namespace {

const std::vector<std::string> kColumns{"glass",    "machine", "power_pct", "speed_pct", "dpi",
                                        "tone_pct", "screen",  "passes",    "frost",     "chipping",
                                        "note",     "by",      "logged_at"};
const std::vector<std::string> kTimedColumns{"burn_s", "art_width_mm", "art_height_mm"};

constexpr textfile::NumberRange kBurnSeconds{0.01, kLongestBurnSeconds};
constexpr textfile::NumberRange kArtMm{0.01, kLargestArtMm};

// The last three columns: all empty, or all numbers.
std::optional<TimedBurn> read_burn(const textfile::CsvRow& cells, errors::FaultList& faults) {
  const std::size_t first = kColumns.size();
  std::size_t empty = 0;
  for (std::size_t i = 0; i < kTimedColumns.size(); ++i) empty += cells.cell(first + i).text.empty() ? 1 : 0;
  if (empty == kTimedColumns.size()) return std::nullopt;
  if (empty > 0) {
    faults.add({cells.cell(first).place, "only some of burn_s, art_width_mm and art_height_mm",
                "all three, or none", "a time says nothing without the size that was burned"});
    return std::nullopt;
  }
  TimedBurn burn;
  burn.seconds = textfile::read_number_cell(cells.cell(first), kBurnSeconds, faults).value_or(0);
  burn.art_width_mm = textfile::read_number_cell(cells.cell(first + 1), kArtMm, faults).value_or(0);
  burn.art_height_mm = textfile::read_number_cell(cells.cell(first + 2), kArtMm, faults).value_or(0);
  return burn;
}

std::vector<std::string> piece_cells(const PieceRow& row) {
  FROSTCAL_ASSERT(!row.glass.empty() && !row.machine.empty() && !row.by.empty(), "glass, machine and by");
  FROSTCAL_ASSERT(textfile::is_utc_time(row.logged_at), "a time");
  using textfile::format_fixed;
  using textfile::guarded;
  const shop::Setting& setting = row.setting;
  return {guarded(row.glass),
          guarded(row.machine),
          shop::dial_cell(setting.power_pct),
          shop::dial_cell(setting.speed_pct),
          std::to_string(setting.dpi),
          shop::dial_cell(setting.tone_pct),
          guarded(setting.screen),
          std::to_string(setting.passes),
          range_text(row.frost, shop::kFrostGrades),
          range_text(row.chipping, shop::kChippingGrades),
          guarded(row.note),
          guarded(row.by),
          row.logged_at,
          row.burn ? format_fixed(row.burn->seconds, 2) : "",
          row.burn ? format_fixed(row.burn->art_width_mm, 2) : "",
          row.burn ? format_fixed(row.burn->art_height_mm, 2) : ""};
}

}  // namespace

textfile::AppendedFile pieces_layout(const shop::Shop& shop) {
  std::vector<std::string> columns = kColumns;
  columns.insert(columns.end(), kTimedColumns.begin(), kTimedColumns.end());
  return {shop.folder,
          shop.folder / "results" / "pieces.csv",
          columns,
          textfile::is_utc_time,
          kTimedColumns.size(),
          kPiecesFormat};
}

std::vector<PieceRow> parse_pieces(std::string_view text, const std::string& name,
                                   errors::FaultList& faults) {
  const textfile::CsvTable table =
      textfile::read_csv(text, name, {kColumns, kTimedColumns, kPiecesFormat}, faults);
  std::vector<PieceRow> rows;
  for (const textfile::CsvRow& cells : table.rows) {
    const std::size_t before = faults.count();
    PieceRow row;
    row.line = cells.line();
    row.glass = textfile::read_name_cell(cells.cell(0), "a glass", faults);
    row.machine = textfile::read_name_cell(cells.cell(1), "a machine", faults);
    row.setting = shop::read_setting_cells(cells, 2, faults);
    row.frost = read_range_cell(cells.cell(8), shop::kFrostGrades, faults);
    row.chipping = read_range_cell(cells.cell(9), shop::kChippingGrades, faults);
    row.note = textfile::unguarded(cells.cell(10).text);
    row.by = textfile::read_name_cell(cells.cell(11), "who logged it", faults);
    row.logged_at = textfile::read_time_cell(cells.cell(12), faults);
    row.burn = read_burn(cells, faults);
    if (faults.count() == before) rows.push_back(std::move(row));
  }
  return rows;
}

std::vector<PieceRow> read_pieces(const shop::Shop& shop, textfile::FileSystem& files) {
  const textfile::AppendedFile layout = pieces_layout(shop);
  const std::optional<textfile::AppendedText> read = textfile::read_appended(layout, files);
  if (!read || read->text.empty()) return {};
  errors::FaultList faults;
  std::vector<PieceRow> rows = parse_pieces(read->text, textfile::shown(layout.path), faults);
  faults.throw_if_any();
  return rows;
}

textfile::TailRepair append_pieces(const shop::Shop& shop, const std::vector<PieceRow>& rows,
                                   textfile::FileSystem& files) {
  std::vector<std::vector<std::string>> lines;
  for (const PieceRow& row : rows) lines.push_back(piece_cells(row));
  return textfile::append_rows(pieces_layout(shop), lines, files);
}

}  // namespace frostcal::grades
