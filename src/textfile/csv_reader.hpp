// CSV as people and their spreadsheets write it: RFC 4180, and also a byte-order mark, CRLF or CR, semicolons
// or tabs, a first line "sep=;", decimal commas, columns in any order, and extra columns. Unquoted cells lose
// blanks at both ends (RFC 4180 would keep them).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "errors/user_error.hpp"

namespace frostcal::textfile {

/// Bound on a physical line and on a cell.
inline constexpr std::size_t kMaxCsvLineBytes = 64U * 1024U;

struct CsvCell {
  std::string text;
  errors::SourcePlace place;  // file, line, column, name of the column
};

/// Where a row says which format it has, in files that rows are appended to. Only the row can say it: a newer
/// tool goes on with an older file. An empty cell, and a file without the column, mean format 1: people add
/// rows too, and a spreadsheet keeps a column but no line of another kind.
inline constexpr std::string_view kFormatColumn = "format";

/// The columns that a reader wants; others are ignored. Names are compared without regard to ASCII case.
struct CsvColumns {
  std::vector<std::string> required;
  std::vector<std::string> optional;
  /// The newest format that the reader knows; 0 = the file has none. A row of another one is the only fault
  /// then: the names of columns and all else are judged by it. A row may lack its format at the end.
  int format = 0;
};

class CsvRow {
 public:
  CsvRow(int line, std::vector<CsvCell> cells) : line_(line), cells_(std::move(cells)) {}
  int line() const { return line_; }
  /// The cell of a wanted column: index into required, then optional. A missing optional column gives an
  /// empty cell.
  const CsvCell& cell(std::size_t wanted) const { return cells_[wanted]; }

 private:
  int line_;
  std::vector<CsvCell> cells_;
};

struct CsvTable {
  std::vector<CsvRow> rows;
  char separator = ',';
  std::vector<std::string> header;  // all column names of the file, in its order
  std::vector<bool> has_optional;   // by CsvColumns::optional
  bool ends_with_line_end = true;   // false: the last row may be cut short
  /// The last line has no line end and too few cells: it was cut while it was written. It is not in rows.
  std::optional<errors::SourcePlace> torn_last_row;
};

/// Reads the whole text; `name` is the file's name for messages. Every fault is added to `faults`; rows with
/// a fault are left out. A fault that leaves nothing to read (empty file, bytes that are not UTF-8, missing
/// or doubled column, broken quotes) gives a table without the rows behind it. The marks of an unfinished
/// merge are the only fault of a file that has them, and leave no table.
CsvTable read_csv(std::string_view text, const std::string& name, const CsvColumns& columns,
                  errors::FaultList& faults);

/// What a number column accepts, for read_number_cell; the bounds are part of it.
struct NumberRange {
  double min;
  double max;
};

/// The cell's number, or nothing and a fault. A value that is 1000 times or a thousandth of an accepted one
/// gets its own words, because spreadsheets in another locale read 0.125 as a hundred and twenty-five.
std::optional<double> read_number_cell(const CsvCell& cell, NumberRange range, errors::FaultList& faults);
std::optional<long long> read_integer_cell(const CsvCell& cell, NumberRange range, errors::FaultList& faults);

/// A name that must not be empty; `expected` says whose.
std::string read_name_cell(const CsvCell& cell, const std::string& expected, errors::FaultList& faults);

/// A time of UTC as time_text writes it.
std::string read_time_cell(const CsvCell& cell, errors::FaultList& faults);

/// The fault of a cell that is no such time: one for the whole column, with a remedy of its own, where it is
/// a date as spreadsheets show theirs.
void add_time_fault(const CsvCell& cell, const std::string& expected, const std::string& remedy,
                    errors::FaultList& faults);

/// Free text as it was before csv_writer guarded it.
std::string unguarded(const std::string& text);

}  // namespace frostcal::textfile
