// Which glasses and machines `fit` speaks of.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "cli/command.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"

namespace frostcal::cli {

/// Glass and machine pairs to report: those named, or all that have grades. Throws UserError for an unknown
/// name.
std::vector<std::pair<std::string, std::string>> wanted_pairs(const Arguments& arguments,
                                                              const shop::Shop& shop,
                                                              const surface::ShopEvidence& evidence);

}  // namespace frostcal::cli
