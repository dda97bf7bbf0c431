// The card on the wall by the machine: every glass and the setting in force, to be read at two metres.
#pragma once

#include <string>
#include <vector>

#include "sheet/drawing.hpp"
#include "shop/setting.hpp"
#include "shop/shop.hpp"

namespace frostcal::report {

struct WallCardRow {
  std::string glass;
  std::string machine;
  shop::Setting setting;
  double chance = 0;
  double tolerance_pct = 0;
  double seconds_per_cm2 = 0;
  std::string status;  // provisional, settled or stale
};

struct WallCardHead {
  std::string shop;
  std::string date;  // 2026-11-25
  shop::Paper paper = shop::Paper::a4;
  shop::LengthUnit units = shop::LengthUnit::mm;
};

/// Landscape pages, at most eight glasses on each, the cautions on every one. Numbers to type are type of at
/// least 9 mm (capitals about 6.5 mm high), with up to six glasses a fifth larger; the rest at least 3.8 mm,
/// a name of 40 letters 3.4 mm. A status other than settled is told in words, white on black when stale;
/// the chance of a stale setting is shown as one that was.
std::vector<sheet::Page> wall_card(const WallCardHead& head, const std::vector<WallCardRow>& rows);

}  // namespace frostcal::report
