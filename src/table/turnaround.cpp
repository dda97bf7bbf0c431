#include "table/turnaround.hpp"

#include <algorithm>

#include "errors/bug.hpp"
#include "shop/burn_time.hpp"

namespace frostcal::table {

namespace {

bool logged_together(const grades::PieceRow& a, const grades::PieceRow& b) {
  return a.glass == b.glass && a.logged_at == b.logged_at && a.by == b.by &&
         shop::same_setting(a.setting, b.setting) && a.burn->seconds == b.burn->seconds &&
         a.burn->art_width_mm == b.burn->art_width_mm && a.burn->art_height_mm == b.burn->art_height_mm;
}

// Between the two nearest in order; `sorted` is not empty.
double quantile(const std::vector<double>& sorted, double share) {
  const double at = share * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(at);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  return sorted[below] + (at - static_cast<double>(below)) * (sorted[above] - sorted[below]);
}

// The burn without any turnaround.
shop::RasterTime scanning(const grades::TimedBurn& burn, const shop::Setting& setting,
                          const shop::Machine& machine) {
  shop::Machine instant = machine;
  instant.turnaround_s = 0;
  return shop::raster_time(burn.art_height_mm, burn.art_width_mm, setting, instant);
}

}  // namespace

double implied_turnaround(const grades::TimedBurn& burn, const shop::Setting& setting,
                          const shop::Machine& machine) {
  const shop::RasterTime scan = scanning(burn, setting, machine);
  FROSTCAL_ASSERT(scan.lines > 0, "art with a line");
  return (burn.seconds - scan.seconds) / (setting.passes * static_cast<double>(scan.lines));
}

PossibleTime possible_time(const grades::TimedBurn& burn, const shop::Setting& setting,
                           const shop::Machine& machine) {
  const shop::RasterTime scan = scanning(burn, setting, machine);
  const double turnaround = std::max(kLongestTurnaround, 3 * machine.turnaround_s);
  return {(1 - kTimingSlack) * scan.seconds,
          scan.seconds + setting.passes * static_cast<double>(scan.lines) * turnaround};
}

bool is_possible(const grades::TimedBurn& burn, const shop::Setting& setting, const shop::Machine& machine) {
  const PossibleTime possible = possible_time(burn, setting, machine);
  return burn.seconds >= possible.shortest && burn.seconds <= possible.longest;
}

Turnaround estimate_turnaround(const std::vector<grades::PieceRow>& pieces, const shop::Machine& machine) {
  Turnaround result;
  result.shop_seconds = machine.turnaround_s;
  result.seconds = machine.turnaround_s;
  std::vector<double> implied;
  const grades::PieceRow* newer = nullptr;
  for (auto piece = pieces.rbegin(); piece != pieces.rend(); ++piece) {
    if (piece->machine != machine.name || !piece->burn) continue;
    if (newer != nullptr && logged_together(*newer, *piece)) continue;
    newer = &*piece;
    if (!is_possible(*piece->burn, piece->setting, machine)) {
      result.unused.push_back(piece->line);
    } else if (implied.size() < static_cast<std::size_t>(kMostTimedBurns)) {
      implied.push_back(implied_turnaround(*piece->burn, piece->setting, machine));
    }
  }
  std::reverse(result.unused.begin(), result.unused.end());
  result.burns = static_cast<int>(implied.size());
  result.calibrated = result.burns >= kFewestTimedBurns;
  if (!result.calibrated) return result;
  std::sort(implied.begin(), implied.end());
  result.seconds = std::max(0.0, quantile(implied, 0.5));
  result.low = std::max(0.0, quantile(implied, 0.25));
  result.high = std::max(0.0, quantile(implied, 0.75));
  return result;
}

}  // namespace frostcal::table
