#include "surface/setting_response.hpp"

#include <algorithm>
#include <set>

namespace frostcal::surface {

using Eigen::Index;

namespace {

struct Factor {
  const char* name;
  double (*value)(const shop::Setting& setting);
};

const Factor kFactors[] = {
    {"power_pct", [](const shop::Setting& s) { return s.power_pct; }},
    {"speed_pct", [](const shop::Setting& s) { return s.speed_pct; }},
    {"dpi", [](const shop::Setting& s) { return static_cast<double>(s.dpi); }},
    {"tone_pct", [](const shop::Setting& s) { return s.tone_pct; }},
    {"passes", [](const shop::Setting& s) { return static_cast<double>(s.passes); }},
};

std::vector<ModelTerm> terms_of(const std::vector<std::size_t>& levels, Order order) {
  std::vector<ModelTerm> model;
  for (const ModelTerm& term : model_terms(static_cast<int>(levels.size()), order)) {
    const bool square = term.first == term.second;
    if (!square || levels[static_cast<std::size_t>(term.first)] > 2) model.push_back(term);
  }
  return model;
}

std::string text_of(const ModelTerm& term, const std::vector<std::string>& factors) {
  const std::string& first = factors[static_cast<std::size_t>(term.first)];
  if (term.second < 0) return first;
  if (term.second == term.first) return first + "^2";
  return first + " x " + factors[static_cast<std::size_t>(term.second)];
}

void add_canonical(SettingSurface& surface) {
  surface.canonical = canonical_analysis(surface.fit);
  if (!surface.canonical.exists) return;
  const Eigen::VectorXd& point = surface.canonical.stationary_point;
  surface.stationary_setting = surface.coding.natural(point);
  surface.at_stationary = predict(surface.fit, point).value;
  surface.within_burned = point.cwiseAbs().maxCoeff() <= 1;
}

}  // namespace

std::vector<SettingResponse> mean_frost(const ShopEvidence& evidence, const std::string& glass,
                                        const std::string& machine) {
  std::vector<SettingResponse> seen;
  for (const GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass != glass || graded.grid.machine != machine) continue;
    for (const design::Swatch& swatch : graded.grid.swatches) {
      double sum = 0;
      int count = 0;
      for (const grades::SwatchGrade& grade : graded.graded) {
        if (grade.swatch != swatch.id || !grade.frost) continue;
        sum += *grade.frost;
        ++count;
      }
      if (count > 0)
        seen.push_back({swatch.setting, graded.grid.id, swatch.bottle, swatch.burn, sum / count});
    }
  }
  return seen;
}

std::optional<SettingSurface> fit_settings(const std::vector<SettingResponse>& seen) {
  const Index n = static_cast<Index>(seen.size());
  SettingSurface surface;
  std::vector<std::size_t> levels;
  Eigen::MatrixXd natural(n, 0);
  for (const Factor& factor : kFactors) {
    std::set<double> values;
    for (const SettingResponse& one : seen) values.insert(factor.value(one.setting));
    if (values.size() < 2) continue;
    surface.factors.emplace_back(factor.name);
    levels.push_back(values.size());
    natural.conservativeResize(Eigen::NoChange, natural.cols() + 1);
    for (Index i = 0; i < n; ++i) {
      natural(i, natural.cols() - 1) = factor.value(seen[static_cast<std::size_t>(i)].setting);
    }
  }
  if (levels.empty()) return std::nullopt;
  surface.coding = range_coding(natural);
  ClassicalData data;
  data.coded = surface.coding.coded(natural);
  data.y.resize(n);
  for (std::size_t i = 0; i < seen.size(); ++i) {
    data.y[static_cast<Index>(i)] = seen[i].value;
    const auto known = std::find(surface.grids.begin(), surface.grids.end(), seen[i].grid);
    data.block.push_back(static_cast<int>(known - surface.grids.begin()));
    if (known == surface.grids.end()) surface.grids.push_back(seen[i].grid);
  }
  for (const Order order : {Order::second, Order::two_way, Order::first}) {
    const std::vector<ModelTerm> model = terms_of(levels, order);
    surface.fit = fit_classical(data, model);
    if (!surface.fit.fit.full_rank || surface.fit.fit.residual_df < 1) continue;
    for (const ModelTerm& term : model_terms(surface.fit.factors, Order::second)) {
      const auto same = [&](const ModelTerm& one) {
        return one.first == term.first && one.second == term.second;
      };
      if (std::none_of(model.begin(), model.end(), same)) {
        surface.left_out.push_back(text_of(term, surface.factors));
      }
    }
    add_canonical(surface);
    for (const double radius : {0.0, 0.25, 0.5, 0.75, 1.0}) {
      surface.ridge.push_back(ridge_point(surface.fit, radius));
    }
    surface.split_plot = fit_split_plot(seen, data, surface.fit);
    return surface;
  }
  return std::nullopt;
}

}  // namespace frostcal::surface
