#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "surface/setting_response.hpp"

namespace frostcal::surface {

using Eigen::Index;

namespace {

int number_of(std::vector<std::string>& names, const std::string& name) {
  const auto found = std::find(names.begin(), names.end(), name);
  const auto number = static_cast<int>(found - names.begin());
  if (found == names.end()) names.push_back(name);
  return number;
}

// Burns beyond those that the terms use up, without which their variance is anybody's guess. The limit is
// ours.
constexpr int kSpareBurns = 2;

// How many columns are the same all over each burn.
int whole_burn_columns(const Eigen::MatrixXd& x, const std::vector<int>& burn) {
  int columns = 0;
  for (Index j = 0; j < x.cols(); ++j) {
    std::map<int, double> first;
    bool same = true;
    for (Index i = 0; i < x.rows() && same; ++i) {
      const double value = first.emplace(burn[static_cast<std::size_t>(i)], x(i, j)).first->second;
      same = std::abs(value - x(i, j)) < 1e-9;
    }
    if (same) ++columns;
  }
  return columns;
}

}  // namespace

std::optional<SplitPlot> fit_split_plot(const std::vector<SettingResponse>& seen, const ClassicalData& data,
                                        const ClassicalFit& fit) {
  std::vector<std::string> bottles;
  std::vector<std::string> burns;
  std::vector<int> bottle;
  std::vector<int> burn;
  for (const SettingResponse& one : seen) {
    bottle.push_back(number_of(bottles, one.bottle));
    burn.push_back(number_of(burns, one.grid + '/' + std::to_string(one.burn)));
  }
  if (burns.size() < 2 || burns.size() >= seen.size()) return std::nullopt;
  SplitPlot plot;
  Eigen::MatrixXd x = Eigen::MatrixXd::Ones(data.y.size(), static_cast<Index>(fit.model.size()) + 1);
  plot.terms.push_back("intercept");
  for (std::size_t t = 0; t < fit.model.size(); ++t) {
    const ModelTerm& term = fit.model[t];
    const Index at = static_cast<Index>(t) + 1;
    x.col(at) = data.coded.col(term.first);
    if (term.second >= 0) x.col(at).array() *= data.coded.col(term.second).array();
    plot.terms.push_back(fit.terms[static_cast<std::size_t>(fit.blocks) + t]);
  }
  const int spare = static_cast<int>(burns.size()) - whole_burn_columns(x, burn);
  if (spare < kSpareBurns) return std::nullopt;
  std::vector<std::vector<int>> groups;
  // Where every bottle has one burn, bottle and burn are the same thing.
  const bool nested = bottles.size() > 1 && bottles.size() < burns.size();
  if (nested && spare - (static_cast<int>(bottles.size()) - 1) >= kSpareBurns) {
    groups.push_back(bottle);
    plot.random_effects.push_back("bottle");
  }
  groups.push_back(burn);
  plot.random_effects.push_back("burn");
  plot.reml = numerics::fit_reml(x, data.y, groups);
  if (plot.reml.status != numerics::RemlStatus::converged) return std::nullopt;
  return plot;
}

}  // namespace frostcal::surface
