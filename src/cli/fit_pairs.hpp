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

/// --machine, or the one machine that the glass is graded on, the shop's first where it is graded on none.
/// UsageError where it is graded on several.
const shop::Machine& machine_for(const Arguments& arguments, const shop::Shop& shop,
                                 const surface::ShopEvidence& evidence, const std::string& glass);

/// The same of the machines that have a setting in force for the glass, and of those in its history.
const shop::Machine& machine_in_force(const Arguments& arguments, const shop::Shop& shop,
                                      const std::vector<table::HistoryRow>& history,
                                      const std::string& glass);
const shop::Machine& machine_in_history(const Arguments& arguments, const shop::Shop& shop,
                                        const std::vector<table::HistoryRow>& history,
                                        const std::string& glass);

}  // namespace frostcal::cli
