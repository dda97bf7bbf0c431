// Glasses that one setting could serve.
#pragma once

#include <string>
#include <vector>

#include "choice/decision.hpp"
#include "shop/shop.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::choice {

/// Two glasses of one machine of which each would do about as well at the other's best setting.
struct GlassLikeness {
  std::string machine;
  std::string first;
  std::string second;
  double first_loss = 0;   // mean chance that `first` loses at the setting of `second`
  double second_loss = 0;  // and the other way round
};

/// Fewest swatches of each glass before it is compared, largest chance that either may lose, and how sure
/// that must be. These limits are ours.
inline constexpr int kAlikeSwatches = 24;
inline constexpr double kAlikeLoss = 0.05;
inline constexpr double kAlikeProbability = 0.9;

/// Compares all pairs of `choices` that are of one machine.
std::vector<GlassLikeness> find_alike(const shop::Shop& shop, const surface::ShopSurface& surfaces,
                                      const std::vector<GlassChoice>& choices);

}  // namespace frostcal::choice
