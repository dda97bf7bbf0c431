#include "cli/art_option.hpp"

#include "errors/user_error.hpp"
#include "grades/piece_file.hpp"
#include "textfile/number_text.hpp"

namespace frostcal::cli {

shop::LengthUnit read_units(const Arguments& arguments, shop::LengthUnit fallback) {
  const auto word = arguments.find("units");
  if (!word) return fallback;
  if (*word == "mm") return shop::LengthUnit::mm;
  if (*word == "in") return shop::LengthUnit::inch;
  throw UsageError("--units: found " + errors::quoted(*word) + ", expected mm or in");
}

table::ArtSize read_art(const Arguments& arguments, shop::LengthUnit units) {
  if (!arguments.has("art")) throw UsageError("--art is missing: give the size of the art, such as 76.2x50");
  const std::string text = arguments.text("art");
  const std::size_t cross = text.find('x');
  const double scale = units == shop::LengthUnit::inch ? shop::kMmPerInch : 1;
  const auto part = [&](const std::string& words) {
    return scale * textfile::parse_number(words).value_or(0);  // 0 is refused below
  };
  table::ArtSize art;
  art.width_mm = part(text.substr(0, cross));
  art.height_mm = cross == std::string::npos ? 0 : part(text.substr(cross + 1));
  const auto sensible = [](double mm) { return mm >= 0.01 && mm <= grades::kLargestArtMm; };
  if (!sensible(art.width_mm) || !sensible(art.height_mm)) {
    throw UsageError("--art: found " + errors::quoted(text) +
                     ", expected WIDTHxHEIGHT such as 76.2x50, up to 2000 mm");
  }
  return art;
}

}  // namespace frostcal::cli
