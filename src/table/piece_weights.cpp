#include "table/piece_weights.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "choice/best_setting.hpp"
#include "choice/glass_choice.hpp"
#include "surface/physical_setting.hpp"
#include "table/settings_row.hpp"
#include "table/stale_check.hpp"

namespace frostcal::table {

namespace {

struct Outcomes {
  shop::Setting setting;
  int good = 0;
  int bad = 0;
};

// The latest pieces of the glass on the machine by setting; those not looked at enough are left out.
std::vector<Outcomes> outcomes_of(const std::vector<grades::PieceRow>& pieces, const std::string& glass,
                                  const std::string& machine, const shop::Acceptance& acceptance) {
  std::vector<Outcomes> outcomes;
  int counted = 0;
  for (auto piece = pieces.rbegin(); piece != pieces.rend() && counted < surface::kMostPieces; ++piece) {
    if (piece->glass != glass || piece->machine != machine) continue;
    const std::optional<bool> good = is_good(*piece, acceptance);
    if (!good) continue;
    ++counted;
    auto found = std::find_if(outcomes.begin(), outcomes.end(),
                              [&](const Outcomes& one) { return same_dials(one.setting, piece->setting); });
    if (found == outcomes.end()) found = outcomes.insert(found, {piece->setting, 0, 0});
    ++(*good ? found->good : found->bad);
  }
  return outcomes;
}

}  // namespace

PieceWeightedSurface::PieceWeightedSurface(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                                           const surface::ShopSurface& surfaces, const std::string& glass,
                                           const std::string& machine,
                                           const std::vector<grades::PieceRow>& pieces) {
  const std::string name = surface::surface_name(glass, machine);
  surface_ = &surfaces.glass(name);
  const std::vector<Outcomes> outcomes = outcomes_of(pieces, glass, machine, shop.acceptance);
  if (outcomes.empty()) return;
  std::vector<surface::Observation> grids;
  std::copy_if(evidence.observations.begin(), evidence.observations.end(), std::back_inserter(grids),
               [&](const surface::Observation& seen) { return seen.glass != name || !seen.piece; });
  without_pieces_ = surface::fit_shop(grids, surface::shop_fit_options(shop));
  const surface::GlassSurface& fitted = without_pieces_.glass(name);
  Eigen::VectorXd log_weights = Eigen::VectorXd::Zero(fitted.draws());
  constexpr double kLeast = 1e-9;  // keeps the logarithm finite; no draw is that sure
  for (const Outcomes& one : outcomes) {
    const Eigen::MatrixXd drawn =
        fitted.drawn_chance({surface::physical_setting(one.setting, shop.machine(machine))});
    const Eigen::ArrayXd chance = drawn.row(0).transpose().array().max(kLeast).min(1 - kLeast);
    log_weights.array() += one.good * chance.log() + one.bad * (1 - chance).log();
  }
  Eigen::VectorXd weights = (log_weights.array() - log_weights.maxCoeff()).exp();
  weights /= weights.sum();
  if (1 / weights.squaredNorm() < kLeastEffectiveShare * fitted.draws()) return;
  surface_ = &fitted;
  weights_ = std::move(weights);
}

choice::Decision PieceWeightedSurface::describe(const shop::Setting& setting, const shop::Machine& machine,
                                                const shop::Acceptance& acceptance) const {
  if (weights_.size() == 0) return choice::describe_setting(setting, machine, *surface_, acceptance);
  const choice::ChanceOf chance = [&](const std::vector<surface::PhysicalSetting>& settings) {
    Eigen::VectorXd mean = surface_->drawn_chance(settings) * weights_;
    return mean;
  };
  const Eigen::MatrixXd drawn = surface_->drawn_chance({surface::physical_setting(setting, machine)});
  return choice::describe_setting(setting, machine, weighted_interval(drawn.row(0).transpose(), weights_),
                                  chance, acceptance);
}

surface::ChanceInterval weighted_interval(const Eigen::VectorXd& values, const Eigen::VectorXd& weights) {
  std::vector<std::pair<double, double>> sorted;
  for (Eigen::Index i = 0; i < values.size(); ++i) sorted.emplace_back(values(i), weights(i));
  std::sort(sorted.begin(), sorted.end());
  const auto quantile = [&](double share) {
    double sum = 0;
    for (const auto& [value, weight] : sorted) {
      sum += weight;
      if (sum >= share) return value;
    }
    return sorted.back().first;
  };
  return {values.dot(weights), quantile(0.05), quantile(0.95)};
}

}  // namespace frostcal::table
