#include "report/design_table.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "table/setting_json.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::report {

using Json = nlohmann::ordered_json;
using textfile::format_fixed;
using textfile::left_column;
using textfile::right_column;

namespace {

std::string line_of(const design::ComparedDesign& one) {
  std::string line =
      left_column(one.design, 24) + right_column(std::to_string(one.swatches), 8) +
      right_column(std::to_string(one.bottles), 8) + right_column(std::to_string(one.burns), 6) +
      right_column(std::to_string(one.recipes), 8) + right_column(format_fixed(one.burn_seconds / 60, 1), 6) +
      right_column(textfile::percent_text(one.reach), 7);
  const design::Evaluation& seen = one.evaluation;
  if (!seen.estimable) return line + "  " + seen.lacking + '\n';
  return line + right_column(textfile::percent_text(one.d_efficiency), 6) +
         right_column(textfile::percent_text(one.i_efficiency), 6) +
         right_column(format_fixed(seen.largest_variance, 2), 8) +
         (seen.power_factor.empty()
              ? right_column("-", 6)
              : right_column(textfile::percent_text(seen.power), 6) + ' ' + seen.power_factor) +
         '\n';
}

std::string doubt_line(const choice::DesignComparison& comparison) {
  std::vector<std::string> shares;
  for (std::size_t i = 0; i < comparison.doubt_removed.size(); ++i)
    shares.push_back(comparison.designs[i].design + ' ' +
                     textfile::percent_text(comparison.doubt_removed[i]));
  return textfile::labelled_line(
      "Doubt", "about the best setting that each grid would take away: " + textfile::joined(shares));
}

}  // namespace

std::string design_table_text(const choice::DesignComparison& comparison) {
  std::string text = left_column("Design", 24) + right_column("Swatches", 8) + right_column("Bottles", 8) +
                     right_column("Burns", 6) + right_column("Recipes", 8) + right_column("Min", 6) +
                     right_column("Reach", 7) + right_column("D", 6) + right_column("I", 6) +
                     right_column("Largest", 8) + right_column("Power", 6) + '\n';
  for (const design::ComparedDesign& one : comparison.designs) text += line_of(one);
  text += '\n';
  if (!comparison.doubt_removed.empty()) text += doubt_line(comparison);
  using textfile::labelled_line;
  text += labelled_line("Min", "minutes of burning.");
  text += labelled_line("Reach",
                        "share of the log range of power or speed, whichever is covered less. A wider reach "
                        "raises D, I and power by itself, but near the ends most swatches show no mark or "
                        "chip, so spread, optimal and split-plot keep to the inner part.");
  text += labelled_line("D, I",
                        "efficiency for each swatch, relative to the best here, of estimating a quadratic in "
                        "the logs of the dials (D) and of predicting with it over the inner part (I).");
  text += labelled_line("Largest",
                        "variance of a predicted grade at the worst place of the inner part, in grades "
                        "squared.");
  text += labelled_line("Power",
                        "chance that a change by one grade from end to end of the inner part shows in a test "
                        "at the 5 % level, for the dial where it shows least.");
  for (const auto& [design, reason] : comparison.impossible)
    text += labelled_line("Not possible", design + ": " + reason);
  return text;
}

std::string design_table_json(const choice::DesignComparison& comparison) {
  Json root;
  root["schema"] = "frostcal.plan-compare/1";
  root["designs"] = Json::array();
  for (std::size_t i = 0; i < comparison.designs.size(); ++i) {
    const design::ComparedDesign& one = comparison.designs[i];
    Json line;
    line["design"] = one.design;
    line["swatches"] = one.swatches;
    line["bottles"] = one.bottles;
    line["burns"] = one.burns;
    line["recipes"] = one.recipes;
    line["burn_seconds"] = one.burn_seconds;
    const design::Evaluation& seen = one.evaluation;
    line["reach"] = one.reach;
    line["estimable"] = seen.estimable;
    line["lacking"] = seen.estimable ? Json() : Json(seen.lacking);
    line["d_efficiency"] = seen.estimable ? Json(one.d_efficiency) : Json();
    line["i_efficiency"] = seen.estimable ? Json(one.i_efficiency) : Json();
    line["mean_variance"] = seen.estimable ? Json(seen.mean_variance) : Json();
    line["largest_variance"] = seen.estimable ? Json(seen.largest_variance) : Json();
    line["power"] = seen.estimable ? Json(seen.power) : Json();
    line["power_factor"] = seen.power_factor.empty() ? Json() : Json(seen.power_factor);
    line["doubt_removed"] = comparison.doubt_removed.empty() ? Json() : Json(comparison.doubt_removed[i]);
    root["designs"].push_back(line);
  }
  root["impossible"] = Json::array();
  for (const auto& [design, reason] : comparison.impossible)
    root["impossible"].push_back({{"design", design}, {"reason", reason}});
  return table::json_line(root);
}

}  // namespace frostcal::report
