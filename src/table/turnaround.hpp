// The time that a machine loses at the end of each scan line, from burns that somebody timed.
//
// By the raster formula (shop/burn_time.hpp) a burn of N lines of length L takes passes * N * (L / v + t), so
// each timed burn implies t = seconds / (passes N) - L / v. The estimate is their median: a burn during which
// somebody fetched coffee does not move it. The machine slows down and speeds up outside the art, so t
// depends a little on speed; the median is that of the jobs which the shop burns.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "grades/piece_file.hpp"
#include "shop/machine.hpp"

namespace frostcal::table {

/// With fewer timed burns than this the turnaround of shop.toml holds.
inline constexpr int kFewestTimedBurns = 3;
/// Only the latest so many count: belts and firmware change. Chosen.
inline constexpr int kMostTimedBurns = 30;
/// A burn may be this much shorter than scanning alone takes before it counts as mistimed: watches are read
/// in a hurry.
inline constexpr double kTimingSlack = 0.01;
/// A burn that implies more per line than this, or than three times what shop.toml says when that is longer,
/// was not timed alone, or not for that art. Common practice, no source: a carriage turns in well under half
/// a second.
inline constexpr double kLongestTurnaround = 1;

struct Turnaround {
  double seconds = 0;       // what to reckon with
  double shop_seconds = 0;  // what shop.toml says
  int burns = 0;            // timed burns that can be true, at most kMostTimedBurns
  bool calibrated = false;  // `seconds` comes from them
  double low = 0;           // quartiles of what they imply; only when calibrated
  double high = 0;
  std::vector<int> unused;  // lines of pieces.csv whose time can't be true
};

/// Turnaround per line that the burn implies, s; negative when it is shorter than scanning alone takes.
double implied_turnaround(const grades::TimedBurn& burn, const shop::Setting& setting,
                          const shop::Machine& machine);

/// Shortest and longest time, s, that can be that of this art at this setting.
struct PossibleTime {
  double shortest = 0;
  double longest = 0;
};
PossibleTime possible_time(const grades::TimedBurn& burn, const shop::Setting& setting,
                           const shop::Machine& machine);

/// True when the burn's time lies between them.
bool is_possible(const grades::TimedBurn& burn, const shop::Setting& setting, const shop::Machine& machine);

/// From the pieces of this machine, of whatever glass; a fault that was cured does not make their times
/// wrong. Rows that agree in everything but the line (logged together with --pieces) are one burn.
Turnaround estimate_turnaround(const std::vector<grades::PieceRow>& pieces, const shop::Machine& machine);

}  // namespace frostcal::table
