#include "cli/art_option.hpp"

#include "cli/quantity.hpp"
#include "errors/ascii.hpp"
#include "errors/user_error.hpp"
#include "grades/piece_file.hpp"
#include "shop/setting.hpp"

namespace frostcal::cli {

shop::LengthUnit read_units(const Arguments& arguments, shop::LengthUnit fallback) {
  const auto word = arguments.find("units");
  if (!word) return fallback;
  const std::string lower = errors::to_lower(*word);
  if (lower == "mm") return shop::LengthUnit::mm;
  if (lower == "in" || lower == "inch" || lower == "inches") return shop::LengthUnit::inch;
  throw UsageError("--units: found " + errors::quoted(*word) + ", expected mm or in");
}

table::ArtSize read_art(const Arguments& arguments, shop::LengthUnit units) {
  if (!arguments.has("art")) throw UsageError("--art is missing: give the size of the art, such as 76.2x50");
  const std::string text = arguments.text("art");
  const bool inches = units == shop::LengthUnit::inch;
  const auto sides = read_pair(text, inches ? Unit::inch : Unit::mm).value_or(std::make_pair(0.0, 0.0));
  const double scale = inches ? shop::kMmPerInch : 1;
  table::ArtSize art;
  art.width_mm = scale * sides.first;
  art.height_mm = scale * sides.second;
  const auto sensible = [](double mm) { return mm >= 0.01 && mm <= grades::kLargestArtMm; };
  if (!sensible(art.width_mm) || !sensible(art.height_mm)) {
    throw UsageError("--art: found " + errors::quoted(text) +
                     ", expected WIDTHxHEIGHT such as 76.2x50 or 3inx2in, up to 2000 mm");
  }
  return art;
}

}  // namespace frostcal::cli
