#include "textfile/append_row.hpp"

#include <fcntl.h>

#include <algorithm>
#include <functional>

#include "errors/ascii.hpp"
#include "errors/bug.hpp"
#include "errors/system_error.hpp"
#include "errors/user_error.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/file_lock.hpp"
#include "textfile/open_file.hpp"
#include "textfile/read_file.hpp"
#include "textfile/shop_path.hpp"
#include "textfile/text_place.hpp"
#include "textfile/utf8.hpp"

namespace frostcal::textfile {

namespace {

bool has_own_format(const AppendedFile& file) {
  return file.format > 0 && std::count(file.columns.begin(), file.columns.end(), kFormatColumn) == 0;
}

/// "sep=;", perhaps behind a byte-order mark.
bool is_preamble(std::string_view line) {
  return line.size() <= 8 && errors::to_lower(line).find("sep=") != std::string::npos;
}

/// The last row of a text, as far as it was written.
struct LastRow {
  std::size_t start = 0;  // the text's size when a line end closes it
  bool in_quotes = false;
};

LastRow last_row(std::string_view text) {
  LastRow row;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '"') row.in_quotes = !row.in_quotes;
    if (!row.in_quotes && (text[i] == '\n' || text[i] == '\r')) row.start = i + 1;
  }
  return row;
}

/// How the file at hand is laid out: separator, and for each of its columns the index into written_columns().
struct Layout {
  char separator = ',';
  std::vector<std::optional<std::size_t>> sources;
};

CsvTable read_table(const AppendedFile& file, std::string_view text, errors::FaultList& faults) {
  const auto newer = file.columns.end() - static_cast<std::ptrdiff_t>(file.newer_columns);
  std::vector<std::string> optional(newer, file.columns.end());
  if (has_own_format(file)) optional.emplace_back(kFormatColumn);
  return read_csv(text, shown(file.path), {{file.columns.begin(), newer}, optional, file.format}, faults);
}

bool is_last_cell_whole(const AppendedFile& file, const CsvRow& row) {
  return file.is_last_cell_whole(row.cell(file.columns.size() - file.newer_columns - 1).text);
}

/// Whether the row's format ends its line: it is written as one digit, so that a cut shows.
bool ends_in_format(const AppendedFile& file, const CsvTable& table) {
  return has_own_format(file) && errors::to_lower(table.header.back()) == kFormatColumn &&
         !table.rows.back().cell(file.columns.size()).text.empty();
}

/// True when every newer column of the row is empty, the last ends in two decimals, or the row in its format.
bool newer_cells_whole(const AppendedFile& file, const CsvTable& table) {
  const std::size_t first = file.columns.size() - file.newer_columns;
  if (file.newer_columns == 0 || !table.has_optional[file.newer_columns - 1]) return true;
  if (ends_in_format(file, table)) return true;
  const CsvRow& row = table.rows.back();
  const std::string& last = row.cell(file.columns.size() - 1).text;
  if (last.size() >= 4 && (last[last.size() - 3] == '.' || last[last.size() - 3] == ',')) return true;
  for (std::size_t i = first; i < file.columns.size(); ++i) {
    if (!row.cell(i).text.empty()) return false;
  }
  return true;
}

Layout layout_of(const AppendedFile& file, const CsvTable& table) {
  const std::vector<std::string> columns = written_columns(file);
  Layout layout;
  layout.separator = table.separator;
  for (const std::string& name : table.header) {
    const auto found = std::find(columns.begin(), columns.end(), errors::to_lower(name));
    layout.sources.push_back(found == columns.end() ? std::nullopt
                                                    : std::optional<std::size_t>(found - columns.begin()));
  }
  return layout;
}

std::string lines_of(const AppendedFile& file, const std::vector<std::vector<std::string>>& rows,
                     const Layout& layout) {
  std::string text;
  for (std::vector<std::string> row : rows) {
    if (has_own_format(file)) row.push_back(std::to_string(file.format));
    std::vector<std::string> cells;
    for (const auto& source : layout.sources) cells.push_back(source ? row[*source] : "");
    text += csv_line(cells, layout.separator);
  }
  return text;
}

/// Length to which the text must be cut, and what that drops; or that only a line end is missing.
struct Tail {
  std::size_t keep = 0;
  TailRepair repair;
};

/// Whether some line behind the first is a whole row: then a quotation mark is missing, and nothing was cut.
bool holds_rows(const AppendedFile& file, std::string_view header, std::string_view lines) {
  for (std::size_t end = lines.find_first_of("\r\n"); end < lines.size();) {
    const std::size_t start = end + 1;
    end = std::min(lines.find_first_of("\r\n", start), lines.size());
    errors::FaultList faults;
    const CsvTable table =
        read_table(file, std::string(header) + std::string(lines.substr(start, end - start)) + '\n', faults);
    if (faults.empty() && !table.rows.empty() && is_last_cell_whole(file, table.rows.back())) return true;
  }
  return false;
}

/// The names of the columns, with what stands above them.
std::string_view header_of(std::string_view text) {
  std::size_t end = text.find_first_of("\r\n");
  if (is_preamble(text.substr(0, end))) end = text.find_first_of("\r\n", text.find_first_not_of("\r\n", end));
  return text.substr(0, end + 1);
}

Tail examine_tail(const AppendedFile& file, std::string_view text) {
  Tail tail{text.size(), {}};
  const auto [start, in_quotes] = last_row(text);
  if (start == text.size()) return tail;
  const std::string_view line = text.substr(start);
  if (unfinished_merge(line, "")) return tail;  // no row that was cut: readers name it
  if (in_quotes && (start == 0 || holds_rows(file, header_of(text), line))) return tail;
  if (start == 0) {
    const std::string header = csv_line(written_columns(file));
    const bool cut = header.compare(0, line.size(), line) == 0 && line.size() + 1 < header.size();
    // After a power cut some file systems show zeros where bytes were not yet written.
    if (cut || line.find('\0') != std::string_view::npos) return {0, {std::string(line), false}};
    tail.repair.line_end_added = true;  // a header that someone typed
    return tail;
  }
  errors::FaultList faults;
  const CsvTable table = read_table(file, text, faults);
  const bool whole = faults.empty() && !table.torn_last_row && !table.rows.empty() &&
                     is_last_cell_whole(file, table.rows.back()) && newer_cells_whole(file, table);
  if (whole) {
    tail.repair.line_end_added = true;
    return tail;
  }
  return {start, {std::string(line), false}};
}

/// The text with `names` at the end of its header and as many empty cells at the end of each row. Everything
/// else stays as it was: byte-order mark, "sep=;", line ends, blank lines, further columns.
std::string with_columns_added(const std::string& text, char separator,
                               const std::vector<std::string>& names) {
  std::string header;
  for (const std::string& name : names) header += separator + name;
  const std::string blank(names.size(), separator);
  std::string result;
  std::string line;
  bool in_quotes = false;
  bool header_done = false;
  const auto finish_line = [&] {
    const bool preamble =
        line.find_first_not_of("\xEF\xBB\xBF") == std::string::npos || (!header_done && is_preamble(line));
    result += line;
    if (!preamble) result += header_done ? blank : header;
    header_done = header_done || !preamble;
    line.clear();
  };
  for (const char c : text) {
    if (c == '"') in_quotes = !in_quotes;
    if (!in_quotes && (c == '\n' || c == '\r')) {
      finish_line();
      result += c;
    } else {
      line += c;
    }
  }
  if (!line.empty()) finish_line();
  return result;
}

/// Gives an older file the newer columns when one of `rows` fills them.
void add_newer_columns(const AppendedFile& file, const std::vector<std::vector<std::string>>& rows,
                       FileSystem& files) {
  const std::size_t first = file.columns.size() - file.newer_columns;
  const bool filled = std::any_of(rows.begin(), rows.end(), [&](const std::vector<std::string>& row) {
    return std::any_of(row.begin() + static_cast<std::ptrdiff_t>(first), row.end(),
                       [](const std::string& cell) { return !cell.empty(); });
  });
  if (!filled || !exists(file.path, files)) return;
  std::string text = read_file(file.root, file.path, kMaxCsvBytes, files);
  const Tail tail = examine_tail(file, text);
  if (tail.keep == 0) return;
  text.resize(tail.keep);
  errors::FaultList faults;
  const CsvTable table = read_table(file, text, faults);
  if (table.header.empty()) faults.throw_if_any();
  std::vector<std::string> missing;
  for (std::size_t i = 0; i < file.newer_columns; ++i) {
    if (!table.has_optional[i]) missing.push_back(file.columns[first + i]);
  }
  if (missing.empty()) return;
  durable_write_locked(file.root, file.path, with_columns_added(text, table.separator, missing), files);
}

/// What was written must be readable: callers refuse other text where a person types it.
void assert_sound(const AppendedFile& file, const std::vector<std::string>& row) {
  FROSTCAL_ASSERT(row.size() == file.columns.size(), "a cell for every column");
  const std::string line = csv_line(row);
  FROSTCAL_ASSERT(line.size() <= kMaxCsvLineBytes, "a row that is no longer than readers take");
  FROSTCAL_ASSERT(!first_invalid_utf8(line) && line.find('\0') == std::string::npos, "a row of UTF-8");
}

class Appender {
 public:
  Appender(const AppendedFile& file, FileSystem& files)
      : file_(file),
        files_(files),
        target_(resolve_inside(file.root, file.path, files)),
        open_(files, retry_interrupted([&] {
                return files.open(target_, O_RDWR | O_APPEND | O_CREAT | O_NOFOLLOW | O_CLOEXEC, 0666);
              })) {
    check(open_.number(), "open for writing");
  }

  using Rows = std::vector<std::vector<std::string>>;

  /// Changes nothing when `rows_after` gives nothing.
  TailRepair run(const std::function<std::optional<Rows>(const std::string&)>& rows_after) {
    const std::string text = read_file(file_.root, file_.path, kMaxCsvBytes, files_);
    const Tail tail = examine_tail(file_, text);
    std::string bytes = tail.repair.line_end_added ? "\n" : "";
    Layout layout;
    if (tail.keep == 0) {
      const std::vector<std::string> columns = written_columns(file_);
      bytes += csv_line(columns);
      for (std::size_t i = 0; i < columns.size(); ++i) layout.sources.emplace_back(i);
    } else {
      errors::FaultList faults;
      const CsvTable table = read_table(file_, std::string_view(text).substr(0, tail.keep), faults);
      if (table.header.empty()) faults.throw_if_any();
      layout = layout_of(file_, table);
    }
    const std::optional<Rows> rows = rows_after(text.substr(0, tail.keep));
    if (!rows) return {};
    bytes += lines_of(file_, *rows, layout);
    // A new file's entry is made durable while it is still empty: so a file with rows always has a durable
    // entry.
    if (text.empty()) {
      check(sync_folder(files_, std::filesystem::path(target_).parent_path().string()), "make durable");
    }
    if (tail.keep < text.size()) check(cut(tail.keep), "cut off a torn row");
    write(bytes, tail.keep);
    return tail.repair;
  }

 private:
  void check(int result, const std::string& action) const {
    if (result >= 0) return;
    std::string remedy;
    if (result == -ENOSPC || result == -EDQUOT) remedy = "free some space and do it again; nothing was added";
    if (result == -EACCES || result == -EROFS || result == -EPERM) remedy = "the file must be writable";
    throw errors::SystemError(shown(file_.path), action, -result, remedy);
  }

  int cut(std::size_t size) {
    return retry_interrupted([&] { return files_.truncate(open_.number(), size); });
  }

  void write(const std::string& bytes, std::size_t old_size) {
    const int written = write_all(files_, open_.number(), bytes);
    if (written < 0) (void)cut(old_size);
    check(written, "add a row");
    // After a failed sync the same sync must not be tried again: the system may have dropped the bytes and
    // would report success.
    const int synced = retry_interrupted([&] { return files_.sync_contents(open_.number()); });
    if (synced < 0) (void)cut(old_size);
    check(synced, "make a row durable");
  }

  const AppendedFile& file_;
  FileSystem& files_;
  std::string target_;
  OpenFile open_;
};

}  // namespace

std::vector<std::string> written_columns(const AppendedFile& file) {
  std::vector<std::string> columns = file.columns;
  if (has_own_format(file)) columns.emplace_back(kFormatColumn);
  return columns;
}

TailRepair append_rows(const AppendedFile& file, const std::vector<std::vector<std::string>>& rows,
                       FileSystem& files) {
  for (const auto& row : rows) assert_sound(file, row);
  const FileLock lock(file.root, files);
  make_folders(file.root, file.path.parent_path(), files);
  if (file.newer_columns > 0) add_newer_columns(file, rows, files);
  return Appender(file, files).run([&](const std::string&) { return rows; });
}

void append_row_after(const AppendedFile& file, const RowAfter& row_after, FileSystem& files) {
  FROSTCAL_ASSERT(file.newer_columns == 0, "the columns of such a file are all of one age");
  const FileLock lock(file.root, files);
  make_folders(file.root, file.path.parent_path(), files);
  Appender(file, files).run([&](const std::string& text) -> std::optional<Appender::Rows> {
    std::optional<std::vector<std::string>> row = row_after(text);
    if (!row) return std::nullopt;
    assert_sound(file, *row);
    return Appender::Rows{std::move(*row)};
  });
}

std::optional<AppendedText> read_appended(const AppendedFile& file, FileSystem& files) {
  if (!exists(file.path, files)) return std::nullopt;
  AppendedText result{read_file(file.root, file.path, kMaxCsvBytes, files), std::nullopt};
  const Tail tail = examine_tail(file, result.text);
  if (!tail.repair.dropped.empty() || tail.repair.line_end_added) result.tail = tail.repair;
  result.text.resize(tail.keep);
  return result;
}

}  // namespace frostcal::textfile
