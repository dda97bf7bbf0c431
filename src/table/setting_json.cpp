#include "table/setting_json.hpp"

#include <nlohmann/json.hpp>

namespace frostcal::table {

void add_setting(nlohmann::ordered_json& object, const shop::Setting& setting) {
  object["power_pct"] = setting.power_pct;
  object["speed_pct"] = setting.speed_pct;
  object["dpi"] = setting.dpi;
  object["tone_pct"] = setting.tone_pct;
  object["screen"] = setting.screen;
  object["passes"] = setting.passes;
}

nlohmann::ordered_json setting_json(const shop::Setting& setting) {
  nlohmann::ordered_json object;
  add_setting(object, setting);
  return object;
}

std::string json_line(const nlohmann::ordered_json& object) {
  return object.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + '\n';
}

}  // namespace frostcal::table
