#include "design/design_by_name.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "design/composite_grid.hpp"
#include "design/dial_region.hpp"
#include "design/opening_grid.hpp"
#include "design/optimal_grid.hpp"
#include "design/split_plot.hpp"
#include "errors/user_error.hpp"
#include "shop/burn_time.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::design {

namespace {

constexpr int kSwatchesPerDpi = 4;  // a burn for fewer swatches than this is not worth it

OpeningDesign spread(const shop::Machine& machine, const shop::Machine& allowed,
                     const DesignRequest& request) {
  SpreadOptions options;
  options.swatches = request.swatches > 0 ? request.swatches : kOpeningSwatches;
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
SplitPlotOptions whole_plot_options(const shop::Machine& allowed, const DesignRequest& request) {
  SplitPlotOptions options;
  if (request.swatches > 0) options.swatches = request.swatches;
  if (request.bottles > 0) options.bottles = request.bottles;
  const int dpi = static_cast<int>(allowed.dpi.size());
  options.burns = options.bottles * std::min(dpi, options.bottles == 1 ? 3 : 2);
  options.seed = request.seed;
  return options;
}

OpeningDesign whole_plots(const shop::Machine& machine, const shop::Machine& allowed,
                          const DesignRequest& request) {
  const SplitPlotOptions options = whole_plot_options(allowed, request);
  return {split_plot(machine, allowed, options).swatches, options.bottles};
}

OpeningDesign made_by_name(const shop::Machine& machine, const shop::Machine& allowed,
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
  const std::string near = errors::nearest(name, opening_designs());
  throw errors::UserError(errors::Fault{{"", 0, 0, "--design"},
                                        errors::quoted(name),
                                        "one of " + textfile::joined(opening_designs()),
                                        near.empty() ? "" : "did you mean " + near + "?"});
}

double seconds_of(const OpeningDesign& design, const shop::Machine& machine, double swatch_mm) {
  double seconds = 0;
  for (const PlannedSwatch& swatch : design.swatches)
    seconds += shop::raster_time(swatch_mm, swatch_mm, swatch.setting, machine).seconds;
  return seconds;
}

std::string minutes(double seconds) {
  return textfile::format_fixed(seconds / 60, 1) + " minutes";
}

[[noreturn]] void refuse_time(const DesignRequest& request, const std::string& needed) {
  throw errors::UserError(errors::Fault{{"", 0, 0, "--spend"},
                                        minutes(request.most_seconds),
                                        needed,
                                        "allow more time, narrow the ranges or ask for a smaller --size"});
}

// The smallest size of a design that has no size of its own.
int fewest_swatches(const shop::Machine& machine, const shop::Machine& allowed,
                    const DesignRequest& request) {
  if (request.name == "spread") return 1;
  const int terms =
      DialRegion(machine, allowed, {OptimalOptions{}.inner, request.dpi_values}).model().terms();
  if (request.name != "split-plot") return terms;
  const int all_dpi = DialRegion(machine, allowed, {SplitPlotOptions{}.inner, 0}).model().terms();
  return std::max(all_dpi, whole_plot_options(allowed, request).burns);
}

// The design, smaller where it takes longer than allowed.
OpeningDesign within_time(const shop::Machine& machine, const shop::Machine& allowed,
                          const DesignRequest& request) {
  OpeningDesign design = made_by_name(machine, allowed, request);
  DesignRequest smaller = request;
  while (true) {
    const double seconds = seconds_of(design, machine, request.swatch_mm);
    if (seconds <= request.most_seconds) return design;
    const int count = static_cast<int>(design.swatches.size());
    const int fewest = has_free_size(request.name) ? fewest_swatches(machine, allowed, request) : count;
    if (count <= fewest) {
      refuse_time(request, "at least " + minutes(seconds) + " for the " +
                               textfile::counted(count, "swatch", "swatches") + " of " + request.name +
                               (has_free_size(request.name) ? ", which needs that many" : ""));
    }
    const int share = static_cast<int>(std::floor(count * request.most_seconds / seconds));
    smaller.swatches = std::clamp(share, fewest, count - 1);
    design = made_by_name(machine, allowed, smaller);
  }
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

bool has_free_size(const std::string& name) {
  return name == "spread" || name == "split-plot" || name == "optimal" || name == "optimal-d";
}

OpeningDesign opening_design(const shop::Machine& machine, const shop::Machine& allowed,
                             const DesignRequest& request) {
  if (request.most_seconds <= 0) return made_by_name(machine, allowed, request);
  if (!has_free_size(request.name)) return within_time(machine, allowed, request);
  OpeningDesign best;
  std::optional<errors::UserError> refusal;
  shop::Machine offered = allowed;
  while (true) {
    try {
      OpeningDesign design = within_time(machine, offered, request);
      if (design.swatches.size() > best.swatches.size()) best = std::move(design);
    } catch (const errors::UserError& error) {
      refusal = error;  // with the coarsest dpi it asks for least
    }
    const bool enough = !best.swatches.empty() && static_cast<int>(best.swatches.size()) >= request.swatches;
    if (enough || offered.dpi.size() <= 2) break;
    offered.dpi.pop_back();
  }
  if (best.swatches.empty() && refusal) throw errors::UserError(*refusal);
  return best;
}

}  // namespace frostcal::design
