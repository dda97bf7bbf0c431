#include "cli/message.hpp"

#include <unistd.h>

#include <algorithm>
#include <iostream>

#include "cli/terminal.hpp"
#include "errors/ascii.hpp"
#include "textfile/utf8.hpp"

namespace frostcal::cli {

namespace {

constexpr std::size_t kWidest = 100;
constexpr std::size_t kNarrowest = 40;
constexpr std::size_t kIndent = 4;

/// Where the place at the front of a line ends: behind "file:2:4:", of which the file may hold blanks.
std::size_t place_end(std::string_view line) {
  const std::size_t colon = line.find(": ");
  if (colon == std::string_view::npos) return 0;
  const std::string_view place = line.substr(0, colon);
  return place.find('/') != std::string_view::npos && place.find('"') == std::string_view::npos ? colon : 0;
}

/// Where the word that starts at `start` ends.
std::size_t word_end(std::string_view line, std::size_t start) {
  for (std::size_t at = std::max(start, start == 0 ? place_end(line) : start); at < line.size(); ++at) {
    if (line[at] == ' ') return at;
    if (line[at] != '"') continue;
    const std::size_t close = line.find('"', at + 1);
    if (close != std::string_view::npos) at = close;
  }
  return line.size();
}

void add_line(std::string_view line, std::size_t width, std::string& out) {
  if (textfile::character_count(line) <= width) {
    out += line;
    return;
  }
  std::size_t column = 0;
  for (std::size_t start = 0; start < line.size();) {
    const std::size_t end = word_end(line, start);
    const std::string_view word = line.substr(start, end - start);
    const std::size_t length = textfile::character_count(word);
    if (start > 0 && column + 1 + length > width) {
      out += '\n' + std::string(kIndent, ' ');
      column = kIndent;
    } else if (start > 0) {
      out += ' ';
      ++column;
    }
    out += word;
    column += length;
    start = end + 1;
  }
}

std::size_t width_of(int terminal) {
  return std::clamp(static_cast<std::size_t>(columns_of(terminal)), kNarrowest, kWidest);
}

}  // namespace

std::string message_lines(std::string_view text, std::size_t width) {
  std::string out;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    add_line(text.substr(0, end), width, out);
    if (end == text.size()) break;
    out += '\n';
    text.remove_prefix(end + 1);
  }
  return out;
}

std::string single_quoted(const std::string& text) {
  std::string out = "'";
  for (const char c : text) out += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return out + "'";
}

std::string shell_word(const std::string& word) {
  const bool plain = !word.empty() && std::all_of(word.begin(), word.end(), [](char c) {
    return errors::is_letter_or_digit(c) || std::string_view("-_./:,+@%").find(c) != std::string_view::npos ||
           static_cast<unsigned char>(c) >= 0x80U;
  });
  return plain ? word : single_quoted(word);
}

void tell(const Streams& streams, std::string_view message) {
  const bool terminal = &streams.err == &std::cerr && ::isatty(STDERR_FILENO) == 1;
  streams.err << message_lines(message, terminal ? width_of(STDERR_FILENO) : kWidest);
}

void show(const Streams& streams, std::string_view messages) {
  const bool terminal = &streams.out == &std::cout && ::isatty(STDOUT_FILENO) == 1;
  if (terminal) {
    streams.out << message_lines(messages, width_of(STDOUT_FILENO));
  } else {
    streams.out << messages;
  }
}

}  // namespace frostcal::cli
