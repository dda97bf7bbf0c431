// How much of what is known of a glass comes from the other glasses of the shop, and from which.
#pragma once

#include <string>
#include <vector>

#include "shop/setting.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::choice {

struct LeanedOn {
  std::string glass;
  std::string machine;
  double share = 0;  // of what is known here
};

struct Leaning {
  double others = 0;              // share of what is known here that the other glasses tell: 0..1
  std::vector<LeanedOn> glasses;  // largest share first; the shares sum to `others`
};

/// What is known is the information about the contrasts of frost and chipping with the bar at `settings`: the
/// inverse of their posterior variance (averaged over the settings) beyond that of the prior. It is had
/// twice, from the shop's fit and from a fit of this glass alone; what the second lacks is the others' share,
/// the mean of both responses. A glass that the others contradict is not known better by them: then it is 0.
/// The share is split in proportion to the information that the swatches of each glass would give at
/// `settings` by linear regression under the prior (C. E. Rasmussen and C. K. I. Williams, Gaussian Processes
/// for Machine Learning, 2006, eq. 2.26), were they of this glass: near swatches count for more than far
/// ones. The split is a judgement; it knows nothing of how well the glasses agree.
///
/// `name` is surface::surface_name of the glass. Nothing when no other glass is graded or there are no
/// settings.
Leaning leaning_on_others(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                          const surface::ShopSurface& surfaces, const std::string& name,
                          const shop::Machine& machine, const std::vector<shop::Setting>& settings);

}  // namespace frostcal::choice
