#include "textfile/csv_reader.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "errors/ascii.hpp"
#include "textfile/csv_parser.hpp"
#include "textfile/csv_writer.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "textfile/text_place.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::textfile {

using errors::to_lower;

namespace {

constexpr std::array<char, 3> kSeparators{',', ';', '\t'};

struct Header {
  char separator = ',';
  CsvRawRow cells;
};

std::optional<std::size_t> find_column(const CsvRawRow& header, const std::string& name) {
  for (std::size_t i = 0; i < header.size(); ++i) {
    if (to_lower(header[i].text) == to_lower(name)) return i;
  }
  return std::nullopt;
}

bool has_all(const CsvRawRow& header, const std::vector<std::string>& names) {
  return std::all_of(names.begin(), names.end(), [&](const auto& name) { return find_column(header, name); });
}

/// Reads the header with each separator. One that yields every required column wins; if none does, the one
/// that yields most cells, for the message.
std::optional<Header> read_header(std::string_view text, int first_line, std::optional<char> declared,
                                  const std::string& name, const CsvColumns& columns,
                                  errors::FaultList& faults) {
  std::vector<Header> complete;
  Header fullest;
  for (const char separator : kSeparators) {
    if (declared && separator != *declared) continue;
    errors::FaultList header_faults;
    std::vector<CsvRawRow> rows = parse_csv(text, separator, first_line, name, header_faults, true);
    if (rows.empty() || !header_faults.empty()) continue;
    Header header{separator, std::move(rows.front())};
    if (header.cells.size() > fullest.cells.size()) fullest = header;
    if (has_all(header.cells, columns.required)) complete.push_back(std::move(header));
  }
  if (complete.empty()) return fullest;
  const std::size_t most =
      std::max_element(complete.begin(), complete.end(), [](const auto& a, const auto& b) {
        return a.cells.size() < b.cells.size();
      })->cells.size();
  if (complete.size() > 1 && most > 1) {
    faults.add({{name, first_line, 0, ""},
                "a header that can be read with more than one separator",
                "one of comma, semicolon or tab between the column names",
                "use the same separator throughout"});
    return std::nullopt;
  }
  return complete.front();
}

/// Where each wanted column stands in the file; missing optional ones are nullopt. Empty after a fault.
std::vector<std::optional<std::size_t>> map_columns(const Header& header, int first_line,
                                                    const std::string& name, const CsvColumns& columns,
                                                    errors::FaultList& faults) {
  std::vector<std::string> known;
  for (const CsvRawCell& cell : header.cells) known.push_back(to_lower(cell.text));
  bool sound = true;
  for (std::size_t i = 0; i < known.size(); ++i) {
    const bool wanted = std::count(columns.required.begin(), columns.required.end(), known[i]) +
                            std::count(columns.optional.begin(), columns.optional.end(), known[i]) >
                        0;
    if (!wanted || std::count(known.begin(), known.begin() + static_cast<std::ptrdiff_t>(i), known[i]) == 0) {
      continue;
    }
    faults.add({{name, header.cells[i].line, header.cells[i].column, known[i]},
                "the column a second time",
                "it once",
                "remove or rename one of them"});
    sound = false;
  }
  std::vector<std::optional<std::size_t>> places;
  for (const std::string& wanted : columns.required) {
    places.push_back(find_column(header.cells, wanted));
    if (places.back()) continue;
    const std::string near = errors::nearest(wanted, known);
    faults.add({{name, first_line, 0, wanted},
                "no such column in the header",
                "the columns " + joined(columns.required),
                near.empty() ? "add the column" : "is it the one called " + errors::quoted(near) + "?"});
    sound = false;
  }
  for (const std::string& wanted : columns.optional) places.push_back(find_column(header.cells, wanted));
  if (!sound) places.clear();
  return places;
}

/// Adds a fault for the first row of a format that the reader does not know; true when there is none.
bool formats_are_known(const std::vector<CsvRawRow>& rows, const Header& header, const std::string& name,
                       int known, errors::FaultList& faults) {
  const std::optional<std::size_t> column = find_column(header.cells, std::string(kFormatColumn));
  if (!column) return true;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    if (rows[i].size() <= *column || rows[i][*column].text.empty()) continue;
    const CsvRawCell& cell = rows[i][*column];
    const std::optional<long long> format = parse_integer(cell.text);
    if (format && *format >= 1 && *format <= known) continue;
    const bool newer = format && *format > known;
    faults.add({{name, cell.line, cell.column, std::string(kFormatColumn)},
                newer ? "format " + std::to_string(*format) : errors::quoted(cell.text),
                "format " + std::to_string(known),
                newer ? "a newer frostcal wrote this row; use that one" : ""});
    return false;
  }
  return true;
}

/// Cells that a row must have: all of the header's, but for a format at the end that only this reader's file
/// layer wants.
std::size_t least_width(const Header& header, const CsvColumns& columns) {
  const std::size_t width = header.cells.size();
  const bool own =
      columns.format > 0 && std::count(columns.required.begin(), columns.required.end(), kFormatColumn) == 0;
  return own && find_column(header.cells, std::string(kFormatColumn)) == width - 1 ? width - 1 : width;
}

bool is_blank(const CsvRawRow& row, std::size_t from = 0) {
  return std::all_of(row.begin() + static_cast<std::ptrdiff_t>(std::min(from, row.size())), row.end(),
                     [](const CsvRawCell& cell) { return cell.text.empty(); });
}

CsvRow make_row(const CsvRawRow& raw, const std::vector<std::optional<std::size_t>>& places,
                const std::string& name, const CsvColumns& columns) {
  std::vector<CsvCell> cells;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const bool required = i < columns.required.size();
    const std::string& field = required ? columns.required[i] : columns.optional[i - columns.required.size()];
    if (places[i] && *places[i] < raw.size()) {  // a row may lack its format
      const CsvRawCell& cell = raw[*places[i]];
      cells.push_back({cell.text, {name, cell.line, cell.column, field}});
    } else {
      cells.push_back({"", {name, raw.front().line, 0, field}});
    }
  }
  return {raw.front().line, std::move(cells)};
}

void read_rows(const std::vector<CsvRawRow>& raw_rows, const Header& header,
               const std::vector<std::optional<std::size_t>>& places, const std::string& name,
               const CsvColumns& columns, CsvTable& table, errors::FaultList& faults) {
  const std::size_t width = header.cells.size();
  const std::size_t least = least_width(header, columns);
  for (std::size_t i = 1; i < raw_rows.size(); ++i) {
    const CsvRawRow& raw = raw_rows[i];
    const errors::SourcePlace place{name, raw.front().line, 0, ""};
    const bool last_and_cut = i + 1 == raw_rows.size() && !table.ends_with_line_end;
    if (raw.size() < least && last_and_cut) {
      table.torn_last_row = place;
      continue;
    }
    if (is_blank(raw)) continue;  // a spreadsheet's empty row
    if (raw.size() < least || !is_blank(raw, width)) {
      faults.add({place, counted(static_cast<int>(raw.size()), "cell", "cells"),
                  std::to_string(width) + ", as in the header",
                  raw.size() > width ? "put cells that hold the separator in quotation marks" : ""});
      continue;
    }
    const auto too_long = std::find_if(
        raw.begin(), raw.end(), [](const CsvRawCell& cell) { return cell.text.size() > kMaxCsvLineBytes; });
    if (too_long != raw.end()) {
      faults.add({{name, too_long->line, too_long->column, ""},
                  "a cell of " + std::to_string(too_long->text.size()) + " bytes",
                  "at most " + std::to_string(kMaxCsvLineBytes),
                  "is a quotation mark missing?"});
      continue;
    }
    table.rows.push_back(make_row(raw, places, name, columns));
  }
}

/// Removes a byte-order mark and a first line "sep=;"; gives the separator that it names.
std::optional<char> strip_preamble(std::string_view& text, int& first_line) {
  if (text.substr(0, 3) == "\xEF\xBB\xBF") text.remove_prefix(3);
  if (text.size() < 5 || to_lower(text.substr(0, 4)) != "sep=") return std::nullopt;
  const char separator = text[4];
  const std::size_t end = text.find_first_of("\r\n");
  if (end != 5 || std::find(kSeparators.begin(), kSeparators.end(), separator) == kSeparators.end()) {
    return std::nullopt;
  }
  text.remove_prefix(text.substr(5, 2) == "\r\n" ? 7 : 6);
  ++first_line;
  return separator;
}

CsvTable read_table(std::string_view text, const std::string& name, const CsvColumns& columns,
                    errors::FaultList& faults) {
  CsvTable table;
  try {
    check_plain_text(text, name, kMaxCsvLineBytes);
  } catch (const errors::UserError& error) {
    for (const errors::Fault& fault : error.faults()) faults.add(fault);
    return table;
  }
  int first_line = 1;
  const std::optional<char> declared = strip_preamble(text, first_line);
  if (text.find_first_not_of("\r\n") == std::string_view::npos) {
    faults.add(
        {{name, 0, 0, ""}, "an empty file", "a header row with the columns " + joined(columns.required), ""});
    return table;
  }
  const std::optional<Header> header = read_header(text, first_line, declared, name, columns, faults);
  if (!header) return table;
  errors::FaultList row_faults;
  const std::vector<CsvRawRow> raw_rows = parse_csv(text, header->separator, first_line, name, row_faults);
  if (columns.format > 0 && !formats_are_known(raw_rows, *header, name, columns.format, faults)) return table;
  const auto places = map_columns(*header, first_line, name, columns, faults);
  if (places.empty()) return table;
  table.separator = header->separator;
  for (const CsvRawCell& cell : header->cells) table.header.push_back(cell.text);
  for (std::size_t i = columns.required.size(); i < places.size(); ++i) {
    table.has_optional.push_back(places[i].has_value());
  }
  table.ends_with_line_end = text.back() == '\n' || text.back() == '\r';
  for (const errors::Fault& fault : row_faults.faults()) faults.add(fault);
  read_rows(raw_rows, *header, places, name, columns, table, faults);
  return table;
}

}  // namespace

CsvTable read_csv(std::string_view text, const std::string& name, const CsvColumns& columns,
                  errors::FaultList& faults) {
  errors::FaultList own;
  CsvTable table = read_table(text, name, columns, own);
  if (!own.empty() || table.torn_last_row) {
    if (const std::optional<errors::Fault> merge = unfinished_merge(text, name)) {
      faults.add(*merge);
      return {};
    }
  }
  for (const errors::Fault& fault : own.faults()) faults.add(fault);
  return table;
}

namespace {

bool is_whole(double value) {
  return std::floor(value) == value;
}

/// Adds the fault of a number out of range, or not whole where it must be.
void add_range_fault(const CsvCell& cell, double value, NumberRange range, bool whole,
                     errors::FaultList& faults) {
  const auto accepted = [&](double v) {
    return v >= range.min && v <= range.max && v != 0 && (!whole || is_whole(v));
  };
  std::string remedy;
  if (is_whole(value) && accepted(value / 1000)) {  // the point of three decimals was taken for a separator
    remedy = "looks as if a spreadsheet read " + format_number(value / 1000) + " as thousands";
  } else if (accepted(value * 1000)) {
    remedy = "looks as if a spreadsheet divided " + format_number(value * 1000) + " by a thousand";
  }
  faults.add({cell.place, errors::quoted(cell.text),
              std::string(whole ? "a whole number" : "a number") + " from " + format_number(range.min) +
                  " to " + format_number(range.max),
              remedy});
}

}  // namespace

std::optional<double> read_number_cell(const CsvCell& cell, NumberRange range, errors::FaultList& faults) {
  const NumberReading reading = read_number(cell.text);
  if (reading.value && *reading.value >= range.min && *reading.value <= range.max) return reading.value;
  if (reading.value) {
    add_range_fault(cell, *reading.value, range, false, faults);
  } else {
    faults.add({cell.place, errors::quoted(cell.text),
                "a number from " + format_number(range.min) + " to " + format_number(range.max),
                reading.remedy});
  }
  return std::nullopt;
}

std::optional<long long> read_integer_cell(const CsvCell& cell, NumberRange range,
                                           errors::FaultList& faults) {
  const NumberReading reading = read_number(cell.text);
  const std::optional<long long> whole = parse_integer(cell.text);
  if (whole && *reading.value >= range.min && *reading.value <= range.max) return whole;
  if (reading.value) {
    add_range_fault(cell, *reading.value, range, true, faults);
  } else {
    faults.add({cell.place, errors::quoted(cell.text),
                "a whole number from " + format_number(range.min) + " to " + format_number(range.max),
                reading.remedy});
  }
  return std::nullopt;
}

std::string read_name_cell(const CsvCell& cell, const std::string& expected, errors::FaultList& faults) {
  if (cell.text.empty()) faults.add({cell.place, "an empty cell", expected, ""});
  return unguarded(cell.text);
}

std::string read_time_cell(const CsvCell& cell, errors::FaultList& faults) {
  if (!is_utc_time(cell.text)) add_time_fault(cell, "a time such as 2026-11-25T11:14:05Z", "", faults);
  return cell.text;
}

void add_time_fault(const CsvCell& cell, const std::string& expected, const std::string& remedy,
                    errors::FaultList& faults) {
  if (!is_spreadsheet_date(cell.text)) {
    faults.add({cell.place, errors::quoted(cell.text), expected, remedy});
    return;
  }
  faults.add_to_column(
      {cell.place, errors::quoted(cell.text), expected,
       "a spreadsheet makes such dates: put the file back from a copy and have the column formatted as text "
       "before it is saved again; without a copy, give the column a date format that shows "
       "2026-11-25T11:14:05Z "
       "and save it so"});
}

std::string unguarded(const std::string& text) {
  const bool guard =
      text.size() >= 2 && text[0] == '\'' && kGuardedStarts.find(text[1]) != std::string_view::npos;
  return guard ? text.substr(1) : text;
}

}  // namespace frostcal::textfile
