#include "design/swatch_ids.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iterator>
#include <map>
#include <set>
#include <tuple>

namespace frostcal::design {

namespace {

constexpr int kLetters = 26;

// Letters that no swatch on the bottles bears; all of them when none is left. `last` gets the highest number
// that stands behind each letter.
std::string free_letters(const std::vector<ScrapBottle>& bottles, std::map<char, int>& last) {
  for (const ScrapBottle& bottle : bottles) {
    for (const Swatch& swatch : bottle.taken) {
      int& highest = last[swatch.id.at(0)];
      highest = std::max(highest, std::atoi(swatch.id.c_str() + 1));
    }
  }
  std::string letters;
  std::string all;
  for (int i = 0; i < kLetters; ++i) {
    const char letter = static_cast<char>('A' + i);
    all += letter;
    if (last.count(letter) == 0) letters += letter;
  }
  return letters.empty() ? all : letters;
}

}  // namespace

void give_ids(std::vector<Swatch>& swatches, const std::vector<ScrapBottle>& bottles) {
  const auto row_of = [&](const Swatch& swatch) {
    std::size_t bottle = 0;
    while (bottles[bottle].name != swatch.bottle) ++bottle;
    return std::make_tuple(bottle, -std::round(swatch.y_mm * 10));
  };
  std::sort(swatches.begin(), swatches.end(), [&](const Swatch& a, const Swatch& b) {
    return std::make_tuple(row_of(a), a.x_mm) < std::make_tuple(row_of(b), b.x_mm);
  });
  std::set<std::tuple<std::size_t, double>> rows;
  for (const Swatch& swatch : swatches) rows.insert(row_of(swatch));
  std::map<char, int> last;
  const std::string letters = free_letters(bottles, last);
  // More rows than letters: neighbouring rows share a letter and the places are counted on.
  const std::size_t rows_per_letter = (rows.size() + letters.size() - 1) / letters.size();
  for (Swatch& swatch : swatches) {
    const auto row = static_cast<std::size_t>(std::distance(rows.begin(), rows.find(row_of(swatch))));
    const char letter = letters[row / rows_per_letter];
    swatch.id = letter + std::to_string(++last[letter]);
  }
}

}  // namespace frostcal::design
