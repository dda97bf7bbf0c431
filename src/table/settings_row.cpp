#include "table/settings_row.hpp"

#include "shop/setting_cells.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::table {

namespace {

constexpr textfile::NumberRange kChance{0, 1};
constexpr textfile::NumberRange kTolerance{0, 100};
constexpr textfile::NumberRange kSeconds{0, 1e6};
constexpr textfile::NumberRange kCount{0, 1e7};

Status read_status(const textfile::CsvCell& cell, errors::FaultList& faults) {
  for (const Status status : {Status::provisional, Status::settled, Status::stale}) {
    if (cell.text == to_text(status)) return status;
  }
  faults.add({cell.place, errors::quoted(cell.text), "provisional, settled or stale", ""});
  return Status::provisional;
}

/// Control characters part words as blanks do: written again they are blanks.
std::vector<std::string> words_of(const std::string& text) {
  std::vector<std::string> words;
  std::string word;
  for (const char c : text + ' ') {
    const auto byte = static_cast<unsigned char>(c);
    if (byte > 0x20 && byte != 0x7F) {
      word += c;
    } else if (!word.empty()) {
      words.push_back(word);
      word.clear();
    }
  }
  return words;
}

}  // namespace

std::vector<std::string> lacks_to_settle(const choice::Decision& decision, const Support& support,
                                         const shop::Acceptance& acceptance) {
  std::vector<std::string> lacks;
  using textfile::number_under;
  const double least = acceptance.chance - kSettledSlack;
  if (decision.chance < acceptance.chance) {
    lacks.push_back("the chance of " + number_under(decision.chance, acceptance.chance) +
                    " is under the target of " + textfile::shown_bar(acceptance.chance));
  } else if (decision.chance_low < least) {
    lacks.push_back("the low end of " + number_under(decision.chance_low, least) + " is under " +
                    textfile::shown_bar(least));
  }
  if (decision.beyond_tried) lacks.push_back("it lies well outside what was burned");
  if (support.pieces >= kSettledPieces) return lacks;
  if (support.swatches < kSettledSwatches) {
    lacks.push_back(std::to_string(support.swatches) + " of " + std::to_string(kSettledSwatches) +
                    " swatches are graded");
  }
  if (support.bottles < kSettledBottles) {
    lacks.push_back(std::to_string(support.bottles) + " of " + std::to_string(kSettledBottles) +
                    " bottles are burned");
  }
  return lacks;
}

std::string to_text(Status status) {
  switch (status) {
    case Status::provisional:
      return "provisional";
    case Status::settled:
      return "settled";
    case Status::stale:
      return "stale";
  }
  return "";
}

const std::vector<std::string>& settings_columns() {
  static const std::vector<std::string> columns{
      "glass",   "machine", "power_pct",  "speed_pct",   "dpi",           "tone_pct",        "screen",
      "passes",  "chance",  "chance_low", "chance_high", "tolerance_pct", "seconds_per_cm2", "swatches",
      "bottles", "grids",   "status",     "reason",      "adopted_by",    "adopted_at"};
  return columns;
}

std::vector<std::string> settings_cells(const SettingsRow& row) {
  using textfile::format_fixed;
  using textfile::format_number;
  using textfile::guarded;
  std::string grids;
  for (const std::string& grid : row.grids) grids += (grids.empty() ? "" : " ") + grid;
  return {guarded(row.glass),
          guarded(row.machine),
          format_number(row.setting.power_pct),
          format_number(row.setting.speed_pct),
          std::to_string(row.setting.dpi),
          format_number(row.setting.tone_pct),
          guarded(row.setting.screen),
          std::to_string(row.setting.passes),
          format_fixed(row.chance, 4),
          format_fixed(row.chance_low, 4),
          format_fixed(row.chance_high, 4),
          format_fixed(row.tolerance_pct, 1),
          format_fixed(row.seconds_per_cm2, 2),
          std::to_string(row.swatches),
          std::to_string(row.bottles),
          guarded(grids),
          to_text(row.status),
          guarded(row.reason),
          guarded(row.adopted_by),
          row.adopted_at};
}

SettingsRow read_settings_cells(const textfile::CsvRow& cells, errors::FaultList& faults) {
  const auto number = [&](std::size_t column, textfile::NumberRange range) {
    return textfile::read_number_cell(cells.cell(column), range, faults).value_or(0);
  };
  const auto integer = [&](std::size_t column, textfile::NumberRange range) {
    return static_cast<int>(textfile::read_integer_cell(cells.cell(column), range, faults).value_or(0));
  };
  SettingsRow row;
  row.glass = textfile::read_name_cell(cells.cell(0), "a glass", faults);
  row.machine = textfile::read_name_cell(cells.cell(1), "a machine", faults);
  row.setting = shop::read_setting_cells(cells, 2, faults);
  row.chance = number(8, kChance);
  row.chance_low = number(9, kChance);
  row.chance_high = number(10, kChance);
  row.tolerance_pct = number(11, kTolerance);
  row.seconds_per_cm2 = number(12, kSeconds);
  row.swatches = integer(13, kCount);
  row.bottles = integer(14, kCount);
  row.grids = words_of(textfile::unguarded(cells.cell(15).text));
  row.status = read_status(cells.cell(16), faults);
  row.reason = textfile::unguarded(cells.cell(17).text);
  row.adopted_by = textfile::read_name_cell(cells.cell(18), "who adopted it", faults);
  row.adopted_at = textfile::read_time_cell(cells.cell(19), faults);
  return row;
}

}  // namespace frostcal::table
