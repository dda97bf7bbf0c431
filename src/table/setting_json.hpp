// What all --json output shares.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "shop/setting.hpp"

namespace frostcal::table {

/// Adds power_pct, speed_pct, dpi, tone_pct, screen and passes at the end of the object.
void add_setting(nlohmann::ordered_json& object, const shop::Setting& setting);

/// An object of just these.
nlohmann::ordered_json setting_json(const shop::Setting& setting);

/// The object on one line with its line end. A path need not be UTF-8: such bytes become U+FFFD.
std::string json_line(const nlohmann::ordered_json& object);

}  // namespace frostcal::table
