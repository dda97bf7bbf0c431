// Settings that are equal to the last bit, as the same seed must give them and as files must keep them. What
// a shop takes for the same setting is shop::same_setting.
#pragma once

#include "shop/setting.hpp"

namespace frostcal::shop {

inline bool operator==(const Setting& a, const Setting& b) {
  return a.power_pct == b.power_pct && a.speed_pct == b.speed_pct && a.dpi == b.dpi &&
         a.tone_pct == b.tone_pct && a.screen == b.screen && a.passes == b.passes;
}
inline bool operator!=(const Setting& a, const Setting& b) {
  return !(a == b);
}

}  // namespace frostcal::shop
