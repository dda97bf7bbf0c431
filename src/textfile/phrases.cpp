#include "textfile/phrases.hpp"

#include <algorithm>

#include "textfile/number_text.hpp"
#include "textfile/utf8.hpp"

namespace frostcal::textfile {

std::string joined(const std::vector<std::string>& words, const std::string& between) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) text += (i == 0 ? "" : between) + words[i];
  return text;
}

std::string counted(int count, const std::string& one, const std::string& many) {
  return std::to_string(count) + ' ' + (count == 1 ? one : many);
}

std::string labelled_line(const std::string& label, const std::string& text) {
  constexpr std::size_t kColumn = 16;
  constexpr std::size_t kWidth = 100;
  std::string line = "  " + label;
  line.resize(kColumn, ' ');
  std::string lines;
  std::size_t used = kColumn;
  for (std::size_t at = 0; at <= text.size();) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    const std::string word = text.substr(at, end - at);
    const std::size_t wide = character_count(word);
    if (at > 0 && used + 1 + wide > kWidth) {
      lines += line + '\n';
      line.assign(kColumn, ' ');
      used = kColumn;
    } else if (at > 0) {
      line += ' ';
      ++used;
    }
    line += word;
    used += wide;
    at = end + 1;
  }
  return lines + line + '\n';
}

std::string with_interval(double value, double low, double high) {
  return format_fixed(value, 2) + " (90 %: " + format_fixed(std::min(low, value), 2) + " to " +
         format_fixed(std::max(high, value), 2) + ')';
}

}  // namespace frostcal::textfile
