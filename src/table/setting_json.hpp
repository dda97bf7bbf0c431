// A setting in --json output: the same keys wherever one is printed.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "shop/setting.hpp"

namespace frostcal::table {

/// Adds power_pct, speed_pct, dpi, tone_pct, screen and passes at the end of the object.
void add_setting(nlohmann::ordered_json& object, const shop::Setting& setting);

/// An object of just these.
nlohmann::ordered_json setting_json(const shop::Setting& setting);

}  // namespace frostcal::table
