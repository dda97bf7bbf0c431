// The card that goes with one customer's piece.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sheet/drawing.hpp"
#include "sheet/paper_flow.hpp"
#include "shop/setting.hpp"
#include "shop/shop.hpp"

namespace frostcal::report {

struct JobCard {
  std::string shop;
  std::string date;
  std::string machine;
  std::string status;  // of the setting: provisional, settled, stale or not adopted
  shop::Glass glass;
  shop::Vessel vessel;
  shop::Side neck = shop::Side::left;
  shop::Setting setting;
  double chance = 0;                   // when the setting was adopted
  std::optional<double> chance_today;  // where that is another, and always of a stale setting if known
  std::string taper;                   // what a taper does to the art; empty on a straight wall
  std::optional<double> tolerance_pct;
  double art_width_mm = 0;   // along the bottle's axis
  double art_height_mm = 0;  // round the bottle
  long lines = 0;
  double burn_seconds = 0;
  int pieces = 1;                     // of the batch; for more than one the card says the next four
  double no_reject = 0;               // chance that none of them is a reject
  double rejects = 0;                 // expected among them
  double batch_seconds = 0;           // with handling
  int bottles_to_bring = 1;           // 0 = more than is sensible
  std::vector<std::string> warnings;  // of this job, printed before the cautions that always hold
  shop::LengthUnit units = shop::LengthUnit::mm;
  shop::Paper paper = shop::Paper::a4;
};

/// One page: what to type in large figures, the art on the unrolled panel in true scale where it fits (else
/// reduced, and said so), steps, cautions, and lines to note how it came out.
sheet::Page job_card(const JobCard& job);

}  // namespace frostcal::report
