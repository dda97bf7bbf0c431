#include "textfile/csv_parser.hpp"

#include <csv.h>

#include <algorithm>
#include <array>
#include <new>

#include "errors/bug.hpp"
#include "textfile/csv_reader.hpp"
#include "textfile/utf8.hpp"

namespace frostcal::textfile {

namespace {

class Parser {
 public:
  Parser(std::string_view text, char separator, int first_line)
      : text_(text), separator_(separator), line_(first_line) {
    FROSTCAL_ASSERT(csv_init(&parser_, CSV_STRICT | CSV_STRICT_FINI) == 0, "libcsv starts");
    csv_set_delim(&parser_, static_cast<unsigned char>(separator));
  }
  ~Parser() { csv_free(&parser_); }
  Parser(const Parser&) = delete;
  Parser& operator=(const Parser&) = delete;

  std::vector<CsvRawRow> run(const std::string& name, errors::FaultList& faults, bool one_row) {
    begin_cell(0);
    while (at_ < text_.size() && !(one_row && !rows_.empty())) {
      const std::size_t size = piece_size();
      if (csv_parse(&parser_, text_.data() + at_, size, on_cell, on_row, this) != size) {
        if (csv_error(&parser_) == CSV_ENOMEM) throw std::bad_alloc();
        faults.add({{name, cell_line_, cell_column_, ""},
                    "a quotation mark inside a cell",
                    "a cell that is quoted as a whole, with its own quotation marks doubled",
                    "write \"\" for each \" inside"});
        return std::move(rows_);
      }
      step_over(size);
    }
    if (one_row && !rows_.empty()) return std::move(rows_);
    if (csv_fini(&parser_, on_cell, on_row, this) != 0) {
      faults.add({{name, cell_line_, cell_column_, ""},
                  "a quotation mark that is never closed",
                  "a closing quotation mark",
                  "the file may have been cut short"});
    }
    return std::move(rows_);
  }

 private:
  bool is_special(char c) const { return c == separator_ || c == '"' || c == '\n' || c == '\r'; }

  /// One special byte, or the run of plain bytes up to the next: so the callbacks come exactly at the byte
  /// that ends a cell.
  std::size_t piece_size() const {
    std::size_t end = at_;
    while (end < text_.size() && !is_special(text_[end])) ++end;
    return end == at_ ? 1 : end - at_;
  }

  void step_over(std::size_t size) {
    const char c = text_[at_];
    const std::size_t next = at_ + size;
    if (c == '\n' || (c == '\r' && (next >= text_.size() || text_[next] != '\n'))) {
      ++line_;
      line_start_ = next;
    }
    at_ = next;
    if (cell_ended_ || (row_.empty() && is_blank_so_far(next))) begin_cell(next);
  }

  /// Between rows, line ends that the parser swallows move the start of the next cell.
  bool is_blank_so_far(std::size_t next) const {
    return std::all_of(text_.begin() + static_cast<std::ptrdiff_t>(cell_start_),
                       text_.begin() + static_cast<std::ptrdiff_t>(next),
                       [](char c) { return c == '\n' || c == '\r'; });
  }

  void begin_cell(std::size_t at) {
    cell_ended_ = false;
    cell_start_ = at;
    cell_line_ = line_;
    cell_column_ = static_cast<int>(character_count(text_.substr(line_start_, at - line_start_))) + 1;
  }

  static void on_cell(void* bytes, std::size_t size, void* self) {
    Parser& parser = *static_cast<Parser*>(self);
    std::string text = size == 0 ? std::string() : std::string(static_cast<const char*>(bytes), size);
    parser.row_.push_back({std::move(text), parser.cell_line_, parser.cell_column_});
    parser.cell_ended_ = true;
  }
  static void on_row(int, void* self) {
    Parser& parser = *static_cast<Parser*>(self);
    parser.rows_.push_back(std::move(parser.row_));
    parser.row_.clear();
  }

  std::string_view text_;
  char separator_;
  csv_parser parser_{};
  std::size_t at_ = 0;
  int line_;
  std::size_t line_start_ = 0;
  std::size_t cell_start_ = 0;
  int cell_line_ = 1;
  int cell_column_ = 1;
  bool cell_ended_ = false;
  CsvRawRow row_;
  std::vector<CsvRawRow> rows_;
};

}  // namespace

std::vector<CsvRawRow> parse_csv(std::string_view text, char separator, int first_line,
                                 const std::string& name, errors::FaultList& faults, bool one_row) {
  Parser parser(text, separator, first_line);
  return parser.run(name, faults, one_row);
}

}  // namespace frostcal::textfile
