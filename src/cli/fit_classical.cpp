#include "cli/fit_classical.hpp"

#include <algorithm>
#include <map>
#include <ostream>

#include "cli/fit_pairs.hpp"
#include "cli/shop_reading.hpp"
#include "errors/ascii.hpp"
#include "errors/user_error.hpp"
#include "grades/grade_file.hpp"
#include "grades/measured_column.hpp"
#include "report/classical_text.hpp"
#include "shop/shop_file.hpp"
#include "surface/setting_response.hpp"

namespace frostcal::cli {

namespace {

/// Of the results files, in lower case, as readers compare them.
bool is_own_column(const std::string& name) {
  static const std::vector<std::string> own = textfile::written_columns(grades::grades_layout({}, ""));
  return std::find(own.begin(), own.end(), errors::to_lower(name)) != own.end();
}

std::string measured_name(const Arguments& arguments) {
  std::string column = arguments.text("measured");
  if (column.empty() || is_own_column(column)) {
    throw UsageError("--measured: found " + errors::quoted(column) +
                     ", expected the name of a column of numbers that you added to the results files" +
                     (errors::to_lower(column) == "frost" ? "; for the mean frost grade: --classical" : ""));
  }
  return column;
}

// What was measured on every grid that has the column, by grid id.
std::map<std::string, grades::MeasuredColumn> read_columns(const shop::Shop& shop,
                                                           const surface::ShopEvidence& evidence,
                                                           const std::string& column,
                                                           const std::string& as_of) {
  std::map<std::string, grades::MeasuredColumn> columns;
  std::vector<std::string> others;
  bool found = false;
  for (const surface::GradedGrid& graded : evidence.grids) {
    grades::MeasuredColumn read = grades::read_measured(shop, graded.grid, column, as_of);
    found = found || read.found;
    for (const std::string& name : read.header) {
      if (!is_own_column(name)) others.push_back(name);
    }
    columns.emplace(graded.grid.id, std::move(read));
  }
  if (found) return columns;
  const std::string near = errors::nearest(column, others);
  throw errors::UserError({{"results", 0, 0, ""},
                           "no column " + errors::quoted(column) + " in any file",
                           "a column of numbers with that name beside the grades",
                           near.empty() ? "" : "did you mean " + near + "?"});
}

std::vector<surface::SettingResponse> responses(const std::map<std::string, grades::MeasuredColumn>& columns,
                                                const surface::ShopEvidence& evidence,
                                                const std::string& glass, const std::string& machine) {
  std::vector<surface::SettingResponse> seen;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass != glass || graded.grid.machine != machine) continue;
    for (const grades::MeasuredValue& value : columns.at(graded.grid.id).values) {
      const design::Swatch& swatch = *graded.grid.find(value.swatch);
      seen.push_back({swatch.setting, graded.grid.id, swatch.bottle, swatch.burn, value.value});
    }
  }
  return seen;
}

}  // namespace

ExitStatus fit_classical(const Arguments& arguments, const Streams& streams) {
  const bool measured = arguments.has("measured");
  const std::string column = measured ? measured_name(arguments) : "mean frost grade";
  const std::string as_of = arguments.text("as-of");
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const surface::ShopEvidence evidence = read_evidence(shop, streams, as_of);
  std::map<std::string, grades::MeasuredColumn> columns;
  if (measured) columns = read_columns(shop, evidence, column, as_of);
  std::vector<report::ClassicalAnalysis> analyses;
  bool any = false;
  for (const auto& [glass, machine] : wanted_pairs(arguments, shop, evidence)) {
    const std::vector<surface::SettingResponse> seen = measured
                                                           ? responses(columns, evidence, glass, machine)
                                                           : surface::mean_frost(evidence, glass, machine);
    if (seen.empty() && arguments.operands.empty()) continue;
    analyses.push_back({glass, machine, column, static_cast<int>(seen.size()), surface::fit_settings(seen)});
    any = any || analyses.back().surface;
  }
  if (arguments.has("json")) {
    streams.out << report::classical_json(measured ? "measured" : "classical", analyses);
  } else if (analyses.empty()) {
    streams.out << "No swatch has a value to fit.\n";
  }
  for (std::size_t i = 0; i < analyses.size() && !arguments.has("json"); ++i) {
    streams.out << (i > 0 ? "\n" : "") << report::classical_text(analyses[i]);
  }
  return any ? ExitStatus::done : ExitStatus::no;
}

}  // namespace frostcal::cli
