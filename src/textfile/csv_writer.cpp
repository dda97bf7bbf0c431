#include "textfile/csv_writer.hpp"

#include <string_view>

namespace frostcal::textfile {

namespace {

bool needs_quotes(const std::string& cell) {
  if (cell.empty()) return false;
  return cell.find_first_of("\",;\t\r\n") != std::string::npos || cell.front() == ' ' || cell.back() == ' ';
}

}  // namespace

std::string csv_line(const std::vector<std::string>& cells, char separator) {
  std::string line;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (i > 0) line += separator;
    if (!needs_quotes(cells[i])) {
      line += cells[i];
      continue;
    }
    line += '"';
    for (const char c : cells[i]) {
      if (c == '"') line += '"';
      line += c;
    }
    line += '"';
  }
  // A row of one empty cell would be a blank line, which readers skip.
  if (cells.size() == 1 && line.empty()) line = "\"\"";
  return line + '\n';
}

std::string guarded(const std::string& text) {
  std::string safe;
  if (!text.empty() && kGuardedStarts.find(text[0]) != std::string_view::npos) safe = "'";
  for (const char c : text) {
    const bool control = static_cast<unsigned char>(c) < 0x20 || c == 0x7F;
    safe += control && c != '\t' && c != '\n' && c != '\r' ? ' ' : c;
  }
  return safe;
}

}  // namespace frostcal::textfile
