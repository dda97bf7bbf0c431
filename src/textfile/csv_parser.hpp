// libcsv in strict mode, with the place of every cell. Used by csv_reader only.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "errors/user_error.hpp"

namespace frostcal::textfile {

struct CsvRawCell {
  std::string text;
  int line = 1;
  int column = 1;  // in characters
};

using CsvRawRow = std::vector<CsvRawCell>;

/// Rows of at least one cell; blank lines vanish. `text` starts on line `first_line`. Stops at the first
/// quoting fault and reports it; `one_row` stops after the first row.
std::vector<CsvRawRow> parse_csv(std::string_view text, char separator, int first_line,
                                 const std::string& name, errors::FaultList& faults, bool one_row = false);

}  // namespace frostcal::textfile
