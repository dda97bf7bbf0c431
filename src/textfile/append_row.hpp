// Rows at the end of a CSV file, each on the disk before it is acknowledged.
#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "textfile/file_system.hpp"

namespace frostcal::textfile {

/// A file that rows are appended to. The last column must have a form that shows a cut (a time or a
/// checksum), because a file that ends without a line end may have been cut while it was written.
struct AppendedFile {
  std::filesystem::path root;
  std::filesystem::path path;
  std::vector<std::string> columns;  // of a new file, in order
  bool (*is_last_cell_whole)(std::string_view cell) = nullptr;
  /// So many of the last columns are newer than some files, which may lack them. is_last_cell_whole then
  /// judges the column before them. A row fills all of them or none; the last is a number written with two
  /// decimals, so that it shows a cut too. A spreadsheet drops them: the format behind it then shows that the
  /// row is whole.
  std::size_t newer_columns = 0;
  /// The format that rows are written in; 0 = the file has none. Unless it is one of `columns` it stands
  /// behind them, and append_rows fills it in; a file of the old form without that column goes on without it.
  int format = 0;
};

/// The columns of a new file.
std::vector<std::string> written_columns(const AppendedFile& file);

/// What had to be mended before the rows could be appended.
struct TailRepair {
  std::string dropped;          // the torn row that was cut off; empty = none
  bool line_end_added = false;  // the last row was whole, only its line end was missing
};

/// Under the shop's lock: mends the end of the file if a row was cut there, writes all rows with one call,
/// syncs, and returns; only then may the caller acknowledge them. A missing file is made, with its header and
/// folders. A file that a spreadsheet saved with another separator, order of columns or extra columns is
/// continued in that form. A file without the newer columns gets them (the whole file is replaced durably)
/// when a row first fills them, and is continued without them until then. Throws SystemError with the file as
/// it was (after a failed sync: cut back as far as the system allows), UserError when the header lacks a
/// column or a row has a format that is not known.
TailRepair append_rows(const AppendedFile& file, const std::vector<std::vector<std::string>>& rows,
                       FileSystem& files = real_file_system());

/// The same for one row that depends on the rows before it: `row_after` is given the file's text without a
/// torn last row, empty for a new file, while the lock is held. When it gives no row, or throws, the file is
/// left as it was.
using RowAfter = std::function<std::optional<std::vector<std::string>>(const std::string& text)>;
void append_row_after(const AppendedFile& file, const RowAfter& row_after,
                      FileSystem& files = real_file_system());

/// A file that rows are appended to, read without the row that append_rows would cut off.
struct AppendedText {
  std::string text;
  std::optional<TailRepair> tail;  // what append_rows would mend; nothing when the end is whole
};

/// Nothing when the file is missing. Throws like read_file. Changes nothing.
std::optional<AppendedText> read_appended(const AppendedFile& file, FileSystem& files = real_file_system());

}  // namespace frostcal::textfile
