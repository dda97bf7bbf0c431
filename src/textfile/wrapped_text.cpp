#include "textfile/wrapped_text.hpp"

#include <algorithm>

#include "textfile/utf8.hpp"

namespace frostcal::textfile {

namespace {

/// Where the place at the front of a line ends: behind "file:2:4:", of which the file may hold blanks. A
/// phrase that has a slash and a colon is told from it by its punctuation.
std::size_t place_end(std::string_view line) {
  const std::string_view place = line.substr(0, line.find(": "));
  if (place.size() == line.size() || place.find('/') == std::string_view::npos) return 0;
  const bool phrase =
      place.find('"') != std::string_view::npos || place.find(", ") != std::string_view::npos ||
      place.find("; ") != std::string_view::npos || place.find(". ") != std::string_view::npos;
  return phrase || place.front() == ' ' ? 0 : place.size();
}

bool command_starts(std::string_view line, std::size_t at) {
  return at >= 2 && line.substr(at - 2, 11) == "  frostcal ";
}

/// Where the word that starts at `start` ends.
std::size_t word_end(std::string_view line, std::size_t start) {
  if (command_starts(line, start)) return std::min(line.find("  ", start), line.size());
  for (std::size_t at = std::max(start, start == 0 ? place_end(line) : start); at < line.size(); ++at) {
    if (line[at] == ' ') return at;
    if (line[at] != '"') continue;
    const std::size_t close = line.find('"', at + 1);
    if (close != std::string_view::npos) at = close;
  }
  return line.size();
}

void add_line(std::string_view line, std::size_t width, std::size_t indent, std::string& out) {
  if (character_count(line) <= width) {
    out += line;
    return;
  }
  std::size_t column = 0;
  for (std::size_t at = 0; at < line.size();) {
    const std::size_t start = std::min(line.find_first_not_of(' ', at), line.size());
    const std::size_t end = word_end(line, start);
    const std::string_view word = line.substr(start, end - start);
    const std::size_t length = character_count(word);
    if (column > indent && start > at && !word.empty() && column + (start - at) + length > width) {
      out += '\n' + std::string(indent, ' ');
      column = indent;
    } else {
      out += line.substr(at, start - at);
      column += start - at;
    }
    out += word;
    column += length;
    at = end;
  }
}

}  // namespace

std::string wrapped(std::string_view text, std::size_t width, std::size_t indent) {
  std::string out;
  while (true) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    add_line(text.substr(0, end), width, indent, out);
    if (end == text.size()) return out;
    out += '\n';
    text.remove_prefix(end + 1);
  }
}

}  // namespace frostcal::textfile
