#include "table/settings_history.hpp"

#include <algorithm>
#include <optional>
#include <utility>

#include "errors/bug.hpp"
#include "errors/system_error.hpp"
#include "shop/shop_command.hpp"
#include "table/settings_table.hpp"
#include "textfile/checksum.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/open_file.hpp"
#include "textfile/text_place.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::table {

namespace {

constexpr Action kActions[] = {Action::adopt, Action::restore, Action::stale, Action::withdraw};

std::vector<std::string> history_columns() {
  std::vector<std::string> columns = settings_columns();
  columns.insert(columns.end(), {"action", "tool_version", "format", "checksum"});
  return columns;
}

constexpr std::string_view kAfterMark = "after-";
constexpr std::string_view kChecksumMark = "crc-";
constexpr std::string_view kVersionMark = "v";

bool has_mark(std::string_view text, std::string_view mark) {
  return text.substr(0, mark.size()) == mark;
}

/// The checksum cell of a row: "crc-1234e567", or chained "after-9e83a1b2-crc-1234e567".
struct Checksum {
  std::string after;  // empty in a row of format 1
  std::string crc;
};

/// Takes `mark` and eight digits from the front of `text`; nothing when it does not begin so.
std::optional<std::string> take_digits(std::string_view& text, std::string_view mark) {
  if (!has_mark(text, mark)) return std::nullopt;
  const std::string_view digits = text.substr(mark.size(), 8);
  if (digits.size() != 8 || digits.find_first_not_of("0123456789abcdef") != std::string_view::npos) {
    return std::nullopt;
  }
  text.remove_prefix(mark.size() + 8);
  return std::string(digits);
}

std::optional<Checksum> read_checksum(std::string_view text) {
  Checksum checksum;
  if (has_mark(text, kAfterMark)) {
    const std::optional<std::string> after = take_digits(text, kAfterMark);
    if (!after || text.empty() || text.front() != '-') return std::nullopt;
    checksum.after = *after;
    text.remove_prefix(1);
  }
  const std::optional<std::string> crc = take_digits(text, kChecksumMark);
  if (!crc || !text.empty()) return std::nullopt;
  checksum.crc = *crc;
  return checksum;
}

bool is_checksum(std::string_view text) {
  return read_checksum(text).has_value();
}

/// All cells but the checksum.
std::vector<std::string> cells_of(const HistoryRow& row, int format) {
  std::vector<std::string> cells = settings_cells(row.row);
  cells.insert(cells.end(),
               {to_text(row.action), std::string(kVersionMark) + row.tool_version, std::to_string(format)});
  return cells;
}

/// The checksum of these cells; `after` empty = of format 1.
std::string checksum_of(std::vector<std::string> cells, const std::string& after) {
  const std::string link = after.empty() ? "" : std::string(kAfterMark) + after;
  if (!after.empty()) cells.push_back(link);
  return link + (after.empty() ? "" : "-") + std::string(kChecksumMark) +
         textfile::crc32_text(textfile::csv_line(cells));
}

/// The cells as a row, without checksum and link; nothing, and the faults, when one of them is bad.
std::optional<HistoryRow> read_row(const textfile::CsvRow& cells, errors::FaultList& faults) {
  const std::size_t shared = settings_columns().size();
  const std::size_t before = faults.count();
  HistoryRow row;
  row.line = cells.line();
  row.row = read_settings_cells(cells, faults);
  const textfile::CsvCell& action = cells.cell(shared);
  const auto known = std::find_if(std::begin(kActions), std::end(kActions),
                                  [&](Action one) { return to_text(one) == action.text; });
  if (known == std::end(kActions)) {
    faults.add({action.place, errors::quoted(action.text), "adopt, restore, stale or withdraw", ""});
  } else {
    row.action = *known;
  }
  const textfile::CsvCell& version = cells.cell(shared + 1);
  if (!has_mark(version.text, kVersionMark)) {
    faults.add({version.place, errors::quoted(version.text), "a version such as v0.1.0", ""});
  } else {
    row.tool_version = version.text.substr(kVersionMark.size());
  }
  if (faults.count() != before) return std::nullopt;
  return row;
}

/// Follows the chain from row to row.
class Chain {
 public:
  /// Checks the row's own checksum and its place in the chain, and gives the row its link; false, and the
  /// faults, when it is not as it was written.
  bool take(HistoryRow& row, int format, const textfile::CsvCell& cell, errors::FaultList& faults) {
    const std::optional<Checksum> found = read_checksum(cell.text);
    const bool chained = format > 1;
    const std::string after = !chained                         ? ""
                              : found && !found->after.empty() ? found->after
                                                               : link_.value_or(std::string(kFirstLink));
    const std::string expected = checksum_of(cells_of(row, format), after);
    if (cell.text != expected) {
      faults.add({cell.place, errors::quoted(cell.text), expected + " for what the row says",
                  "the row was changed after it was written; " + std::string(kMendHistory)});
      lose(row.line);
      return false;
    }
    const bool in_place = !link_ || (chained ? *link_ == after : !chained_);
    if (!in_place) faults.add(misplaced(row, after, cell));
    row.link =
        chained ? found->crc : textfile::crc32_text(link_.value_or(std::string(kFirstLink)) + expected);
    lines_.emplace_back(row.link, row.line);
    link_ = row.link;
    line_ = row.line;
    chained_ = chained_ || chained;
    return in_place;
  }

  /// A row that can't be read: what should follow it is not known.
  void lose(int line) {
    link_.reset();
    line_ = line;
  }

 private:
  errors::Fault misplaced(const HistoryRow& row, const std::string& after,
                          const textfile::CsvCell& cell) const {
    const std::string expected = line_ == 0 ? "the first row of a history"
                                            : "one that was written after line " + std::to_string(line_);
    if (after.empty()) {
      return {cell.place, "a row of before the rows above it, format 1", expected,
              "it was moved or put in; " + std::string(kMendHistory)};
    }
    if (after == kFirstLink) {
      return {cell.place, "a row that was the first of its file", expected,
              "rows above it were moved or put in; " + std::string(kMendHistory)};
    }
    const auto known =
        std::find_if(lines_.begin(), lines_.end(), [&](const auto& one) { return one.first == after; });
    if (known != lines_.end()) {
      return {cell.place, "a row that was written after line " + std::to_string(known->second), expected,
              "this row was moved, or rows were put in above it; " + std::string(kMendHistory)};
    }
    return {cell.place, "a row that was written after another one, which is not above it", expected,
            "rows above line " + std::to_string(row.line) + " were deleted or moved; " +
                std::string(kMendHistory)};
  }

  std::optional<std::string> link_{kFirstLink};  // of the row above; nothing when it can't be read
  int line_ = 0;                                 // of the row above; 0 = there is none
  bool chained_ = false;                         // some row above is of format 2
  std::vector<std::pair<std::string, int>> lines_;
};

errors::Fault vanished(const textfile::AppendedFile& layout, const HistoryRow& row) {
  return {{textfile::shown(layout.path), 0, 0, ""},
          "no row for " + row.row.glass + " on " + row.row.machine,
          "that of " + row.row.adopted_at + ", which was there a moment ago",
          "somebody changed the file meanwhile: put it back from a copy, and give frostcal check"};
}

}  // namespace

std::string to_text(Action action) {
  switch (action) {
    case Action::adopt:
      return "adopt";
    case Action::restore:
      return "restore";
    case Action::stale:
      return "stale";
    case Action::withdraw:
      return "withdraw";
  }
  return "";
}

textfile::AppendedFile history_layout(const shop::Shop& shop) {
  return {shop.folder,   shop.folder / "results" / "settings-history.csv", history_columns(), is_checksum, 0,
          kHistoryFormat};
}

std::vector<std::string> history_cells(const HistoryRow& row, std::string_view link) {
  std::vector<std::string> cells = cells_of(row, kHistoryFormat);
  cells.push_back(checksum_of(cells, std::string(link)));
  return cells;
}

std::vector<HistoryRow> parse_history(std::string_view text, const std::string& name,
                                      errors::FaultList& faults) {
  if (std::optional<errors::Fault> merge = textfile::unfinished_merge(text, name)) {
    merge->expected = "the file of one copy";
    merge->remedy =
        "its rows are a chain, so lines of two copies never fit: git checkout HEAD -- "
        "results/settings-history.csv results/settings-table.csv takes your own copy's, frostcal check says "
        "whether they are sound, and what the other copy had adopted is adopted again (README, Two copies of "
        "a shop)";
    faults.add(*merge);
    return {};
  }
  const std::size_t shared = settings_columns().size();
  const std::size_t before = faults.count();
  const textfile::CsvTable read =
      textfile::read_csv(text, name, {history_columns(), {}, kHistoryFormat}, faults);
  const bool left_out = faults.count() != before;
  std::vector<HistoryRow> rows;
  Chain chain;
  for (const textfile::CsvRow& cells : read.rows) {
    if (left_out) chain.lose(cells.line());  // some row, and it may be the one above
    const auto format = textfile::read_integer_cell(cells.cell(shared + 2), {1, kHistoryFormat}, faults);
    std::optional<HistoryRow> row = format ? read_row(cells, faults) : std::nullopt;
    if (!row) {
      chain.lose(cells.line());
    } else if (chain.take(*row, static_cast<int>(*format), cells.cell(shared + 3), faults)) {
      rows.push_back(std::move(*row));
    }
  }
  return rows;
}

std::vector<HistoryRow> read_history(const shop::Shop& shop, textfile::FileSystem& files) {
  const textfile::AppendedFile layout = history_layout(shop);
  const auto read = textfile::read_appended(layout, files);
  if (!read || read->text.empty()) return {};
  errors::FaultList faults;
  std::vector<HistoryRow> rows = parse_history(read->text, textfile::shown(layout.path), faults);
  faults.throw_if_any();
  return rows;
}

std::optional<HistoryRow> record(const shop::Shop& shop, const HistoryRow& row,
                                 const std::vector<HistoryRow>& known, textfile::FileSystem& files) {
  FROSTCAL_ASSERT(!row.row.glass.empty() && !row.row.machine.empty(), "a row is for a glass on a machine");
  FROSTCAL_ASSERT(!row.row.adopted_by.empty() && textfile::is_utc_time(row.row.adopted_at), "who and when");
  const textfile::AppendedFile layout = history_layout(shop);
  std::optional<HistoryRow> meanwhile;
  const auto cells_after = [&](const std::string& text) -> std::optional<std::vector<std::string>> {
    errors::FaultList faults;
    std::vector<HistoryRow> rows;
    if (!text.empty()) rows = parse_history(text, textfile::shown(layout.path), faults);
    faults.throw_if_any();
    if (const auto lost = lost_rows(shop, rows, files)) throw errors::UserError(*lost);
    const HistoryRow* before = newest_row(known, row.row.glass, row.row.machine);
    const HistoryRow* newest = newest_row(rows, row.row.glass, row.row.machine);
    if (newest == nullptr && before != nullptr) throw errors::UserError(vanished(layout, *before));
    if (newest != nullptr && (before == nullptr || before->link != newest->link)) {
      meanwhile = *newest;
      return std::nullopt;
    }
    return history_cells(row, rows.empty() ? kFirstLink : std::string_view(rows.back().link));
  };
  textfile::append_row_after(layout, cells_after, files);
  if (meanwhile) return meanwhile;
  try {
    rewrite_table(shop, files);
  } catch (const errors::SystemError& error) {
    throw errors::SystemError(
        textfile::shown(table_file(shop)), "write it anew", error.error_number(),
        "the change itself is recorded in settings-history.csv and holds, so don't repeat "
        "it; once the disk takes files again, " +
            shop::command_for(shop, "check --repair") + " makes this one anew");
  }
  return std::nullopt;
}

const HistoryRow* newest_row(const std::vector<HistoryRow>& history, const std::string& glass,
                             const std::string& machine) {
  const auto newest = std::find_if(history.rbegin(), history.rend(), [&](const HistoryRow& one) {
    return one.row.glass == glass && one.row.machine == machine;
  });
  return newest == history.rend() ? nullptr : &*newest;
}

const HistoryRow* newest_if_stale(const std::vector<HistoryRow>& history, const std::string& glass,
                                  const std::string& machine, const shop::Setting& setting) {
  for (auto row = history.rbegin(); row != history.rend(); ++row) {
    if (row->row.glass != glass || row->row.machine != machine) continue;
    if (shop::same_setting(row->row.setting, setting))
      return row->row.status == Status::stale ? &*row : nullptr;
  }
  return nullptr;
}

}  // namespace frostcal::table
