// CSV that a spreadsheet opens without changing it: RFC 4180 with LF line ends, quoted only where needed.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace frostcal::textfile {

/// One line with its line end. Quotes a cell that holds a quotation mark, any of , ; TAB CR LF, or a blank at
/// either end.
std::string csv_line(const std::vector<std::string>& cells, char separator = ',');

/// What makes a spreadsheet take a cell for a formula when it stands first, and the ' that guards it.
inline constexpr std::string_view kGuardedStarts = "=+-@'\t\r";

/// Free text (note, name, reason) made safe: a cell that starts with one of those gets a ' in front.
/// csv_reader's unguarded() takes it away again.
/// Other control characters become blanks. Source: OWASP, "CSV Injection".
/// Never for numbers: -5 is a number.
std::string guarded(const std::string& text);

}  // namespace frostcal::textfile
