// Commands of frostcal for this shop, said to be copied.
#pragma once

#include <filesystem>
#include <string>

#include "shop/shop.hpp"

namespace frostcal::shop {

/// "frostcal check --shop our-shop"; without --shop where the shop is the current folder.
std::string command_for(const std::filesystem::path& folder, const std::string& words);
std::string command_for(const Shop& shop, const std::string& words);

/// "frostcal plan amber-jug --machine bench". With the machine, since `plan` would take the first of the
/// shop.
std::string plan_command(const Shop& shop, const std::string& glass, const std::string& machine);

}  // namespace frostcal::shop
