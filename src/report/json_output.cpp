#include "report/json_output.hpp"

#include <nlohmann/json.hpp>

#include "report/choice_text.hpp"
#include "table/setting_json.hpp"

namespace frostcal::report {

using Json = nlohmann::ordered_json;

namespace {

Json decision_json(const choice::Decision& decision) {
  Json object = table::setting_json(decision.setting);
  object["chance"] = decision.chance;
  object["chance_low"] = decision.chance_low;
  object["chance_high"] = decision.chance_high;
  object["tolerance_pct"] = decision.tolerance_pct;
  object["speed_tolerance_pct"] = decision.speed_tolerance_pct;
  object["seconds_per_cm2"] = decision.seconds_per_cm2;
  object["beyond_tried"] = decision.beyond_tried;
  return object;
}

}  // namespace

std::string fit_json(const std::vector<choice::GlassChoice>& choices,
                     const std::vector<choice::GlassLikeness>& alike,
                     const std::vector<surface::PowerTrend>& trends, const std::vector<AskedSetting>& asked) {
  Json root;
  root["schema"] = "frostcal.fit/1";
  root["glass"] = Json::array();
  for (const choice::GlassChoice& choice : choices) {
    Json object;
    object["glass"] = choice.glass;
    object["machine"] = choice.machine;
    object["swatches"] = choice.swatches;
    object["bottles"] = choice.bottles;
    object["pieces"] = choice.pieces;
    object["set_aside"] = choice.set_aside;
    object["grids"] = choice.grids;
    object["best"] = choice.best ? decision_json(*choice.best) : Json(nullptr);
    object["limited_by"] = to_text(choice.limited_by);
    object["fits"] = choice.fits;
    object["findings"] = choice.findings;
    object["careful"] = careful_texts(choice);
    object["stop"] = choice.stop;
    object["expected_gain"] = choice.expected_gain ? Json(*choice.expected_gain) : Json(nullptr);
    object["alternatives"] = Json::array();
    for (const choice::Decision& other : choice.alternatives)
      object["alternatives"].push_back(decision_json(other));
    object["faster"] = choice.faster ? decision_json(*choice.faster) : Json();
    root["glass"].push_back(object);
  }
  root["alike"] = Json::array();
  for (const choice::GlassLikeness& pair : alike) {
    Json object;
    object["machine"] = pair.machine;
    object["glasses"] = {pair.first, pair.second};
    object["losses"] = {pair.first_loss, pair.second_loss};
    root["alike"].push_back(object);
  }
  root["power_trend"] = Json::array();
  for (const surface::PowerTrend& trend : trends) {
    Json object;
    object["machine"] = trend.machine;
    object["since"] = trend.since;
    object["until"] = trend.until;
    object["glasses"] = trend.glasses;
    object["one_bottle"] = trend.one_bottle;
    object["change"] = trend.change;
    object["change_low"] = trend.low;
    object["change_high"] = trend.high;
    root["power_trend"].push_back(object);
  }
  if (!asked.empty()) {
    root["at"] = Json::array();
    for (const AskedSetting& one : asked) {
      Json object;
      object["glass"] = one.glass;
      object["machine"] = one.machine;
      table::add_setting(object, one.setting);
      object["chance"] = one.chance.chance;
      object["chance_low"] = one.chance.low;
      object["chance_high"] = one.chance.high;
      object["frost"] = one.grades.frost;
      object["chipping"] = one.grades.chipping;
      root["at"].push_back(object);
    }
  }
  return table::json_line(root);
}

std::string plan_json(const PlanSummary& plan) {
  Json root;
  root["schema"] = "frostcal.plan/1";
  root["grid"] = plan.grid;
  root["glass"] = plan.glass;
  root["machine"] = plan.machine;
  root["vessel"] = plan.vessel;
  root["design"] = plan.design;
  root["swatches"] = plan.swatches;
  root["fewer_because"] = plan.fewer_because.empty() ? Json(nullptr) : Json(plan.fewer_because);
  root["bottles"] = plan.bottles;
  root["used_bottles"] = plan.used_bottles;
  root["waiting"] = plan.waiting;
  root["burns"] = plan.burns;
  root["recipes"] = plan.recipes;
  root["burn_seconds"] = plan.burn_seconds;
  root["expected_gain"] = plan.expected_gain ? Json(*plan.expected_gain) : Json(nullptr);
  root["stop"] = plan.stop;
  root["reference"] = plan.reference.empty() ? Json(nullptr) : Json(plan.reference);
  root["confirming"] = plan.confirming;
  root["repeats"] = plan.repeats;
  root["others_share"] = plan.leaning.others;
  root["leaned_on"] = Json::array();
  for (const choice::LeanedOn& one : plan.leaning.glasses)
    root["leaned_on"].push_back({{"glass", one.glass}, {"machine", one.machine}, {"share", one.share}});
  root["files"] = {{"swatches", plan.swatches_file}, {"burn", plan.burn_file}, {"run", plan.run_file}};
  return table::json_line(root);
}

}  // namespace frostcal::report
