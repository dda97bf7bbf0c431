#include "grades/cured_file.hpp"

#include <optional>

#include "errors/bug.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/open_file.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::grades {

namespace {

const std::vector<std::string> kColumns{"machine", "cure", "since", "by", "recorded_at"};

}  // namespace

textfile::AppendedFile cured_layout(const shop::Shop& shop) {
  return {shop.folder,
          shop.folder / "results" / "cured-faults.csv",
          kColumns,
          textfile::is_utc_time,
          /*newer_columns=*/0,
          kCuredFormat};
}

std::vector<CuredFault> parse_cured(std::string_view text, const std::string& name,
                                    errors::FaultList& faults) {
  const textfile::CsvTable table = textfile::read_csv(text, name, {kColumns, {}, kCuredFormat}, faults);
  std::vector<CuredFault> rows;
  for (const textfile::CsvRow& cells : table.rows) {
    const std::size_t before = faults.count();
    CuredFault row;
    row.machine = textfile::read_name_cell(cells.cell(0), "a machine", faults);
    row.cure = textfile::read_name_cell(cells.cell(1), "what cured the fault", faults);
    row.since = textfile::read_time_cell(cells.cell(2), faults);
    row.by = textfile::read_name_cell(cells.cell(3), "who recorded it", faults);
    row.recorded_at = textfile::read_time_cell(cells.cell(4), faults);
    row.line = cells.line();
    if (faults.count() > before) continue;
    if (row.since > row.recorded_at) {
      faults.add({cells.cell(2).place, row.since + ", after recorded_at", "a time up to " + row.recorded_at,
                  "a fault begins before it is cured"});
      continue;
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

std::vector<CuredFault> read_cured(const shop::Shop& shop, textfile::FileSystem& files) {
  const textfile::AppendedFile layout = cured_layout(shop);
  const std::optional<textfile::AppendedText> read = textfile::read_appended(layout, files);
  if (!read || read->text.empty()) return {};
  errors::FaultList faults;
  std::vector<CuredFault> rows = parse_cured(read->text, textfile::shown(layout.path), faults);
  faults.throw_if_any();
  return rows;
}

textfile::TailRepair append_cured(const shop::Shop& shop, const CuredFault& fault,
                                  textfile::FileSystem& files) {
  FROSTCAL_ASSERT(!fault.machine.empty() && !fault.cure.empty() && !fault.by.empty(), "machine, cure and by");
  FROSTCAL_ASSERT(textfile::is_utc_time(fault.since) && textfile::is_utc_time(fault.recorded_at), "times");
  FROSTCAL_ASSERT(fault.since <= fault.recorded_at, "a beginning before the end");
  using textfile::guarded;
  return textfile::append_rows(
      cured_layout(shop),
      {{guarded(fault.machine), guarded(fault.cure), fault.since, guarded(fault.by), fault.recorded_at}},
      files);
}

}  // namespace frostcal::grades
