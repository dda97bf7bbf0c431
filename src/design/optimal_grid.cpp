#include "design/optimal_grid.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include "design/dial_region.hpp"
#include "errors/user_error.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::design {

namespace {

constexpr int kMostRefinements = 10;

std::vector<shop::Setting> pick(const std::vector<shop::Setting>& from, const std::vector<int>& rows) {
  std::vector<shop::Setting> picked;
  for (const int row : rows) picked.push_back(from[static_cast<std::size_t>(row)]);
  return picked;
}

// Moves each setting along its dials, one dial at a time, while the criterion improves.
std::vector<shop::Setting> refined(std::vector<shop::Setting> settings, const DialRegion& region,
                                   const QuadraticModel& model, const Eigen::MatrixXd& moments,
                                   const ExchangeOptions& options) {
  double before = std::numeric_limits<double>::infinity();
  for (int round = 0; round < kMostRefinements; ++round) {
    std::vector<shop::Setting> candidates = settings;
    for (const shop::Setting& setting : settings) {
      const std::vector<shop::Setting> near = region.along_axes(setting);
      candidates.insert(candidates.end(), near.begin(), near.end());
    }
    std::vector<int> rows;
    for (std::size_t i = 0; i < settings.size(); ++i) rows.push_back(static_cast<int>(i));
    const ExchangeResult moved = improve(model.rows(region.code(candidates)), moments, rows, options);
    if (!moved.estimable || loss(moved, options.criterion) > before - 1e-9) break;
    before = loss(moved, options.criterion);
    settings = pick(candidates, moved.rows);
  }
  return settings;
}

void add_repeats(std::vector<shop::Setting>& settings, int repeats, const DialRegion& region,
                 const QuadraticModel& model, const Eigen::MatrixXd& moments, Criterion criterion) {
  const Eigen::MatrixXd rows = model.rows(region.code(settings));
  std::vector<int> design;
  for (std::size_t i = 0; i < settings.size(); ++i) design.push_back(static_cast<int>(i));
  std::vector<bool> repeated(settings.size(), false);
  for (int r = 0; r < repeats; ++r) {
    std::size_t best = settings.size();
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < repeated.size(); ++i) {
      if (repeated[i]) continue;
      std::vector<int> longer = design;
      longer.push_back(static_cast<int>(i));
      const double now = loss(judge(rows, moments, longer), criterion);
      if (now < least) {
        least = now;
        best = i;
      }
    }
    if (best == repeated.size()) return;
    repeated[best] = true;
    design.push_back(static_cast<int>(best));
    settings.push_back(settings[best]);
  }
}

}  // namespace

std::vector<PlannedSwatch> optimal_swatches(const shop::Machine& machine, const shop::Machine& allowed,
                                            const OptimalOptions& options) {
  const DialRegion region(machine, allowed, {options.inner, options.dpi_values});
  const QuadraticModel model = region.model();
  if (options.swatches < model.terms()) {
    throw errors::UserError(
        errors::Fault{{"", 0, 0, "--swatches"},
                      std::to_string(options.swatches),
                      "at least " + std::to_string(model.terms()) + ", the terms of a quadratic in " +
                          textfile::listed(region.names()),
                      "ask for more swatches, fix some of these to one value, or use the spread design"});
  }
  const int repeats = std::clamp(options.repeats, 0, options.swatches - model.terms());
  const std::vector<shop::Setting> lattice = region.lattice(kLatticeLevels);
  ExchangeResult found;
  ExchangeOptions search;
  search.criterion = options.criterion;
  search.starts = options.starts;
  search.seed = options.seed;
  Eigen::MatrixXd candidates;
  Eigen::MatrixXd moments;
  if (!lattice.empty()) {
    candidates = model.rows(region.code(lattice));
    moments = mean_moments(candidates);
    found = exchange(candidates, moments, options.swatches - repeats, search);
  }
  if (!found.estimable) {
    throw errors::UserError(
        errors::Fault{{"", 0, 0, "machine"},
                      std::to_string(lattice.size()) + " settings below the dose limit",
                      "enough to tell the effects of " + textfile::listed(region.names()) + " apart",
                      "widen the ranges, or use the spread design"});
  }
  std::vector<shop::Setting> settings = refined(pick(lattice, found.rows), region, model, moments, search);
  add_repeats(settings, repeats, region, model, moments, options.criterion);
  return with_repeats_marked(settings);
}

}  // namespace frostcal::design
