#include "report/design_table.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "textfile/number_text.hpp"

namespace frostcal::report {

using Json = nlohmann::ordered_json;
using textfile::format_fixed;

namespace {

std::string left(const std::string& text, std::size_t width) {
  return text.size() < width ? text + std::string(width - text.size(), ' ') : text + ' ';
}

std::string right(const std::string& text, std::size_t width) {
  return text.size() < width ? std::string(width - text.size(), ' ') + text : ' ' + text;
}

std::string percent(double share) {
  return format_fixed(100 * share, 0) + " %";
}

std::string line_of(const design::ComparedDesign& one) {
  std::string line = "  " + left(one.design, 25) + right(std::to_string(one.swatches), 8) +
                     right(std::to_string(one.bottles), 8) + right(std::to_string(one.burns), 6) +
                     right(std::to_string(one.recipes), 8) + right(format_fixed(one.burn_seconds / 60, 1), 8);
  const design::Evaluation& seen = one.evaluation;
  if (!seen.estimable) return line + "  can't tell all effects apart\n";
  return line + right(percent(one.d_efficiency), 7) + right(percent(one.i_efficiency), 7) +
         right(format_fixed(seen.largest_variance, 2), 9) + right(percent(seen.power), 7) + " (" +
         seen.power_factor + ")\n";
}

}  // namespace

std::string design_table_text(const choice::DesignComparison& comparison) {
  std::string text = "  " + left("Design", 25) + right("Swatches", 8) + right("Bottles", 8) +
                     right("Burns", 6) + right("Recipes", 8) + right("Minutes", 8) + right("D", 7) +
                     right("I", 7) + right("Largest", 9) + right("Power", 7) + '\n';
  for (const design::ComparedDesign& one : comparison.designs) text += line_of(one);
  text +=
      "\nD and I: efficiency for each swatch, relative to the best here, of estimating a quadratic in the\n"
      "logs of the dials (D) and of predicting with it (I). Largest: variance of a predicted grade at the\n"
      "worst place of the inner range, in grades squared. Power: chance that a change by one grade from\n"
      "end to end of the range shows, for the dial where it shows least. The lattice and the published\n"
      "designs reach the ends of the ranges; the others stay in the inner part, where most is learned.\n";
  for (const auto& [design, reason] : comparison.impossible)
    text += "Not possible: " + design + ": " + reason + '\n';
  return text;
}

std::string design_table_json(const choice::DesignComparison& comparison) {
  Json root;
  root["schema"] = "frostcal.plan-compare/1";
  root["designs"] = Json::array();
  for (const design::ComparedDesign& one : comparison.designs) {
    Json line;
    line["design"] = one.design;
    line["swatches"] = one.swatches;
    line["bottles"] = one.bottles;
    line["burns"] = one.burns;
    line["recipes"] = one.recipes;
    line["burn_seconds"] = one.burn_seconds;
    const design::Evaluation& seen = one.evaluation;
    line["estimable"] = seen.estimable;
    line["d_efficiency"] = seen.estimable ? Json(one.d_efficiency) : Json();
    line["i_efficiency"] = seen.estimable ? Json(one.i_efficiency) : Json();
    line["largest_variance"] = seen.estimable ? Json(seen.largest_variance) : Json();
    line["power"] = seen.estimable ? Json(seen.power) : Json();
    line["power_factor"] = seen.estimable ? Json(seen.power_factor) : Json();
    root["designs"].push_back(line);
  }
  root["impossible"] = Json::array();
  for (const auto& [design, reason] : comparison.impossible)
    root["impossible"].push_back({{"design", design}, {"reason", reason}});
  return root.dump() + '\n';
}

}  // namespace frostcal::report
