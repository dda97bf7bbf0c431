// What a customer's piece takes: whether the art fits the bottle, lines, minutes, and how many will be good.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "shop/shop.hpp"
#include "table/batch_chance.hpp"
#include "table/settings_row.hpp"

namespace frostcal::table {

/// As it looks on the standing bottle: `width` goes round it, `height` along its axis. mm.
struct ArtSize {
  double width_mm = 0;
  double height_mm = 0;
};

/// A height of the art on the wall. The rotary turns by angle, so where the wall is d wide instead of the
/// diameter d0 at the panel's centre, art is d / d0 as wide on the glass and gets d0 / d of the dose.
struct ArtPlace {
  std::string name;  // "centre", "neck end", "base end"
  double x_mm = 0;   // along the axis from the panel's centre, positive towards the base
  double dose_ratio = 1;
  double width_mm = 0;           // of the art, on the glass
  std::optional<double> chance;  // of a good piece by the surface, were the whole of it there
};

/// What the surface says today.
struct ArtChance {
  std::vector<surface::ChanceInterval> places;  // of art_places(), each as if the whole art were there
  DrawnChance whole;                            // of the art as it is, by the worst that each response shows
};

/// The panel's centre, where the art's centre lies, and on a taper both ends of the art after it.
std::vector<ArtPlace> art_places(const shop::Vessel& vessel, const ArtSize& art);

/// Time to take a bottle off, put the next on and find the place. Common practice, no source.
inline constexpr double kHandlingSeconds = 120;

struct JobEstimate {
  ArtSize art;
  long lines = 0;  // scan lines, each along the axis; one per pitch round the bottle
  double burn_seconds = 0;
  double pieces_per_hour = 0;         // burn and handling
  double round_deg = 0;               // how far round the bottle the art reaches
  bool fits = false;                  // on the panel, the round and the rotary
  std::vector<std::string> misfits;   // why not
  std::vector<std::string> warnings;  // it fits, but: a seam, a taper
  double dose_j_mm2 = 0;              // mean energy per area
  int pieces = 1;                     // of the batch
  bool by_surface = false;            // the batch is judged by the surface as it is today, else by the row
  double chance_now = 0;              // of a good piece, as believed now, by the panel's centre
  std::vector<ArtPlace> places;       // as art_places() has them
  std::size_t worst = 0;              // of `places`, the one of least chance
  double chance_whole = 0;    // of a good piece, as believed now, by the whole art; the batch is judged by it
  double no_reject = 0;       // chance that the whole batch is good, the doubt included
  double no_reject_low = 0;   // at the lower end of the chance's interval
  double no_reject_high = 0;  // at the upper end
  double rejects = 0;         // expected among the first `pieces` bottles
  int rejects_low = 0;        // their 5 % and 95 % quantiles, the doubt included
  int rejects_high = 0;
  double batch_burn_seconds = 0;  // of `pieces` bottles, rejects not made again
  double batch_seconds = 0;       // the same with handling
  int bottles_to_bring = 1;       // to end with `pieces` good ones with probability 0.9
};

/// Time: shop::raster_time. Angle: width / (pi d) * 360 at the panel's middle, the diameter that the driver
/// is told. The art, centred on the panel, fits when its height is within the panel and the rotary, less the
/// edge kept clear at each end, and its angle within the round, less the edges, which on a taper are kept on
/// the glass at the smallest diameter under it. Batches: see batch_chance.hpp; `today` is what the surface
/// says, nothing = the row, of the centre. Lengths in words are in `units`. no_reject_low and no_reject_high
/// are the ends of the 90 % interval of the chance, to the power of pieces. `handling_seconds` >= 0.
JobEstimate estimate_job(const SettingsRow& row, const shop::Machine& machine, const shop::Vessel& vessel,
                         const ArtSize& art, int pieces, double handling_seconds = kHandlingSeconds,
                         const std::optional<ArtChance>& today = std::nullopt,
                         shop::LengthUnit units = shop::LengthUnit::mm);

/// "45 min", "2 h 05 min".
std::string hours_text(double seconds);

/// "dose +52 % at the neck end of the art, -25 % at the base end; ..."; nothing on a straight wall.
std::string taper_text(const JobEstimate& job, shop::LengthUnit units);

}  // namespace frostcal::table
