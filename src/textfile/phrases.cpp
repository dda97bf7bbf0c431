#include "textfile/phrases.hpp"

#include <algorithm>

#include "textfile/number_text.hpp"
#include "textfile/utf8.hpp"
#include "textfile/wrapped_text.hpp"

namespace frostcal::textfile {

std::string joined(const std::vector<std::string>& words, const std::string& between) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) text += (i == 0 ? "" : between) + words[i];
  return text;
}

std::string listed(const std::vector<std::string>& words) {
  if (words.empty()) return "";
  const std::string rest = joined({words.begin(), words.end() - 1});
  return rest + (rest.empty() ? "" : " and ") + words.back();
}

std::string left_column(const std::string& text, std::size_t width) {
  const std::size_t characters = character_count(text);
  return text + std::string(characters < width ? width - characters : 1, ' ');
}

std::string right_column(const std::string& text, std::size_t width) {
  const std::size_t characters = character_count(text);
  return std::string(characters < width ? width - characters : 1, ' ') + text;
}

std::string shown_bar(double bar) {
  std::string text = format_fixed(bar, 6);
  while (text.back() == '0' && text.find('.') + 3 < text.size()) text.pop_back();
  return text;
}

std::string number_under(double value, double bar) {
  for (const int decimals : {2, 4}) {
    std::string text = format_fixed(value, decimals);
    if (*parse_number(text) < bar) return text;
  }
  return format_fixed(value, 6);
}

std::string counted(long count, const std::string& one, const std::string& many) {
  return std::to_string(count) + ' ' + (count == 1 ? one : many);
}

std::string labelled_line(const std::string& label, const std::string& text) {
  constexpr std::size_t kColumn = 16;
  return wrapped(left_column("  " + label, kColumn) + text, kWidest, kColumn) + '\n';
}

std::string percent_text(double share) {
  return format_fixed(100 * share, 0) + " %";
}

std::string shown_chance(double chance) {
  if (chance >= 0.995) return ">0.99";  // no chance is 1; a file has it to four decimals
  if (chance > 0 && chance < 0.005) return "<0.01";
  return format_fixed(chance, 2);
}

std::string with_interval(double value, double low, double high) {
  return shown_chance(value) + " (90 %: " + shown_chance(std::min(low, value)) + " to " +
         shown_chance(std::max(high, value)) + ')';
}

}  // namespace frostcal::textfile
