#include "grades/piece_file.hpp"

#include "errors/bug.hpp"
#include "grades/grade_cells.hpp"
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

constexpr textfile::NumberRange kPercent{0.01, 100};
constexpr textfile::NumberRange kDpi{1, 10000};
constexpr textfile::NumberRange kPasses{1, 100};

std::string read_name(const textfile::CsvCell& cell, const char* expected, errors::FaultList& faults) {
  if (cell.text.empty()) faults.add({cell.place, "an empty cell", expected, ""});
  return textfile::unguarded(cell.text);
}

}  // namespace

textfile::AppendedFile pieces_layout(const shop::Shop& shop) {
  return {shop.folder, shop.folder / "results" / "pieces.csv", kColumns, textfile::is_utc_time};
}

std::vector<PieceRow> parse_pieces(std::string_view text, const std::string& name,
                                   errors::FaultList& faults) {
  const textfile::CsvTable table = textfile::read_csv(text, name, {kColumns, {}}, faults);
  std::vector<PieceRow> rows;
  for (const textfile::CsvRow& cells : table.rows) {
    const std::size_t before = faults.faults().size();
    PieceRow row;
    row.line = cells.line();
    row.glass = read_name(cells.cell(0), "a glass", faults);
    row.machine = read_name(cells.cell(1), "a machine", faults);
    row.setting.power_pct = textfile::read_number_cell(cells.cell(2), kPercent, faults).value_or(0);
    row.setting.speed_pct = textfile::read_number_cell(cells.cell(3), kPercent, faults).value_or(0);
    row.setting.dpi = static_cast<int>(textfile::read_integer_cell(cells.cell(4), kDpi, faults).value_or(0));
    row.setting.tone_pct = textfile::read_number_cell(cells.cell(5), kPercent, faults).value_or(0);
    row.setting.screen = textfile::unguarded(cells.cell(6).text);
    row.setting.passes =
        static_cast<int>(textfile::read_integer_cell(cells.cell(7), kPasses, faults).value_or(1));
    row.frost = read_grade_cell(cells.cell(8), shop::kFrostGrades, faults);
    row.chipping = read_grade_cell(cells.cell(9), shop::kChippingGrades, faults);
    row.note = textfile::unguarded(cells.cell(10).text);
    row.by = read_name(cells.cell(11), "who logged it", faults);
    row.logged_at = cells.cell(12).text;
    if (!textfile::is_utc_time(row.logged_at)) {
      faults.add(
          {cells.cell(12).place, errors::quoted(row.logged_at), "a time such as 2026-11-25T11:14:05Z", ""});
    }
    if (faults.faults().size() == before) rows.push_back(std::move(row));
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

textfile::TailRepair append_piece(const shop::Shop& shop, const PieceRow& row, textfile::FileSystem& files) {
  FROSTCAL_ASSERT(!row.glass.empty() && !row.machine.empty() && !row.by.empty(), "glass, machine and by");
  FROSTCAL_ASSERT(textfile::is_utc_time(row.logged_at), "a time");
  const auto grade = [](const std::optional<int>& value) { return value ? std::to_string(*value) : ""; };
  const shop::Setting& setting = row.setting;
  return textfile::append_rows(
      pieces_layout(shop),
      {{textfile::guarded(row.glass), textfile::guarded(row.machine),
        textfile::format_fixed(setting.power_pct, 2), textfile::format_fixed(setting.speed_pct, 2),
        std::to_string(setting.dpi), textfile::format_fixed(setting.tone_pct, 2),
        textfile::guarded(setting.screen), std::to_string(setting.passes), grade(row.frost),
        grade(row.chipping), textfile::guarded(row.note), textfile::guarded(row.by), row.logged_at}},
      files);
}

}  // namespace frostcal::grades
