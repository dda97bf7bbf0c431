// Which glasses and machines a command speaks of.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "cli/command.hpp"
#include "shop/shop.hpp"
#include "surface/shop_observations.hpp"
#include "table/settings_history.hpp"

namespace frostcal::cli {

/// Glass and machine pairs to report: those named, or all that have grades. Throws UserError for an unknown
/// name.
std::vector<std::pair<std::string, std::string>> wanted_pairs(const Arguments& arguments,
                                                              const shop::Shop& shop,
                                                              const surface::ShopEvidence& evidence);

/// --machine, or the machine that the glass's grids are planned for when there is just one, or the shop's
/// first.
const shop::Machine& machine_for(const Arguments& arguments, const shop::Shop& shop,
                                 const surface::ShopEvidence& evidence, const std::string& glass);

/// --machine, or the machine that the glass's settings are for when the history has just one, or the shop's
/// first.
const shop::Machine& machine_in_table(const Arguments& arguments, const shop::Shop& shop,
                                      const std::vector<table::HistoryRow>& history,
                                      const std::string& glass);

}  // namespace frostcal::cli
