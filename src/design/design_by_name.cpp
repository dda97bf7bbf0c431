#include "design/design_by_name.hpp"

#include <algorithm>

#include "design/composite_grid.hpp"
#include "design/opening_grid.hpp"
#include "design/optimal_grid.hpp"
#include "design/split_plot.hpp"
#include "errors/user_error.hpp"

namespace frostcal::design {

namespace {

constexpr int kSpreadSwatches = 12;
constexpr int kSwatchesPerDpi = 4;  // a burn for fewer swatches than this is not worth it

OpeningDesign spread(const shop::Machine& machine, const shop::Machine& allowed,
                     const DesignRequest& request) {
  SpreadOptions options;
  options.swatches = request.swatches > 0 ? request.swatches : kSpreadSwatches;
  options.dpi_values = std::min(request.dpi_values, std::max(1, options.swatches / kSwatchesPerDpi));
  options.seed = request.seed;
  return {with_repeats_marked(spread_settings(machine, allowed, options)), 0};
}

OpeningDesign optimal(const shop::Machine& machine, const shop::Machine& allowed,
                      const DesignRequest& request, Criterion criterion) {
  OptimalOptions options;
  if (request.swatches > 0) options.swatches = request.swatches;
  options.repeats = options.swatches / 8;
  options.dpi_values = request.dpi_values;
  options.criterion = criterion;
  options.seed = request.seed;
  return {optimal_swatches(machine, allowed, options), 0};
}

// Two burns on each bottle, or three on a single one: enough for a curve in dpi.
OpeningDesign whole_plots(const shop::Machine& machine, const shop::Machine& allowed,
                          const DesignRequest& request) {
  SplitPlotOptions options;
  if (request.swatches > 0) options.swatches = request.swatches;
  if (request.bottles > 0) options.bottles = request.bottles;
  const int dpi = static_cast<int>(allowed.dpi.size());
  options.burns = options.bottles * std::min(dpi, options.bottles == 1 ? 3 : 2);
  options.seed = request.seed;
  return {split_plot(machine, allowed, options).swatches, options.bottles};
}

}  // namespace

const std::vector<std::string>& opening_designs() {
  static const std::vector<std::string> names{"spread",
                                              "optimal",
                                              "optimal-d",
                                              "split-plot",
                                              "lattice",
                                              "central-composite",
                                              "central-composite-faced",
                                              "box-behnken"};
  return names;
}

OpeningDesign opening_design(const shop::Machine& machine, const shop::Machine& allowed,
                             const DesignRequest& request) {
  const std::string& name = request.name;
  if (name == "spread") return spread(machine, allowed, request);
  if (name == "optimal") return optimal(machine, allowed, request, Criterion::i);
  if (name == "optimal-d") return optimal(machine, allowed, request, Criterion::d);
  if (name == "split-plot") return whole_plots(machine, allowed, request);
  if (name == "lattice") {
    const auto& [power, speed] = request.levels;
    return {with_repeats_marked(lattice_settings(machine, allowed, power, speed)), 0};
  }
  if (name == "central-composite") return {composite_swatches(machine, allowed, Composite::rotatable), 0};
  if (name == "central-composite-faced")
    return {composite_swatches(machine, allowed, Composite::face_centred), 0};
  if (name == "box-behnken") return {box_behnken_swatches(machine, allowed), 0};
  std::string names;
  for (const std::string& one : opening_designs()) names += (names.empty() ? "" : ", ") + one;
  const std::string near = errors::nearest(name, opening_designs());
  throw errors::UserError(errors::Fault{{"", 0, 0, "--design"},
                                        errors::quoted(name),
                                        "one of " + names,
                                        near.empty() ? "" : "did you mean " + near + "?"});
}

}  // namespace frostcal::design
