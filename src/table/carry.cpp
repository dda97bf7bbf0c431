#include "table/carry.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

#include "choice/best_setting.hpp"
#include "choice/evidence_count.hpp"
#include "choice/glass_choice.hpp"
#include "choice/machine_settings.hpp"
#include "numerics/gauss_hermite.hpp"
#include "numerics/weighted_quantile.hpp"
#include "surface/physical_setting.hpp"

namespace frostcal::table {

namespace {

// Power factors and weights: Gauss-Hermite with three points for a standard normal, nodes 0 and +-sqrt(3)
// (Abramowitz & Stegun, table 25.10, rescaled).
constexpr std::size_t kDoubts = 3;
std::array<std::pair<double, double>, kDoubts> doubt_points(double sd) {
  const numerics::NormalQuadrature rule = numerics::normal_quadrature(kDoubts);
  std::array<std::pair<double, double>, kDoubts> points;
  for (std::size_t i = 0; i < kDoubts; ++i) {
    const auto at = static_cast<Eigen::Index>(i);
    points[i] = {std::exp(rule.nodes(at) * sd), rule.weights(at)};
  }
  return points;
}

// The settings of the new machine as the old one would have to burn them, at each power that it may have.
std::array<std::pair<std::vector<surface::PhysicalSetting>, double>, kDoubts> doubted(
    const std::vector<surface::PhysicalSetting>& places, const surface::MachineMove& move) {
  std::array<std::pair<std::vector<surface::PhysicalSetting>, double>, kDoubts> points;
  const auto doubts = doubt_points(move.power_doubt());
  for (std::size_t i = 0; i < kDoubts; ++i) {
    points[i].second = doubts[i].second;
    for (const surface::PhysicalSetting& place : places) {
      points[i].first.push_back(surface::as_burned_there(place, move));
      points[i].first.back().power_w *= doubts[i].first;
    }
  }
  return points;
}

choice::ChanceOf averaged_chance(const surface::GlassSurface& learned, const shop::Machine& from,
                                 const shop::Machine& to, double delivered) {
  const surface::MachineMove move = move_between(from, to, delivered);
  return [&learned, move](const std::vector<surface::PhysicalSetting>& settings) {
    Eigen::VectorXd mean = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(settings.size()));
    for (const auto& [factor, weight] : doubt_points(move.power_doubt())) {
      std::vector<surface::PhysicalSetting> shifted = settings;
      for (surface::PhysicalSetting& one : shifted) {
        one = surface::as_burned_there(one, move);
        one.power_w *= factor;
      }
      mean += weight * learned.scan_chance(shifted);
    }
    return mean;
  };
}

double squared(double ratio) {
  const double log_ratio = std::log(ratio);
  return log_ratio * log_ratio;
}

}  // namespace

const shop::Machine* teaching_machine(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                                      const std::string& glass, const std::string& to) {
  const shop::Machine* best = nullptr;
  int most = 0;
  for (const shop::Machine& machine : shop.machines) {
    if (machine.name == to) continue;
    const choice::EvidenceCount count =
        choice::count_evidence(evidence, surface::surface_name(glass, machine.name));
    if (count.swatches + count.pieces <= most) continue;
    most = count.swatches + count.pieces;
    best = &machine;
  }
  return best;
}

double delivered_share(const surface::ShopSurface& surfaces, const shop::Machine& from,
                       const shop::Machine& to) {
  return surface::delivered_share(surfaces.power_trends(), from.name, to.name);
}

surface::MachineMove move_between(const shop::Machine& from, const shop::Machine& to, double delivered) {
  return {to.spot_mm / from.spot_mm, delivered};
}

double carry_doubt(const shop::Machine& from, const shop::Machine& to) {
  return move_between(from, to, 1).power_doubt();
}

CarryRatios carry_ratios(const shop::Setting& old_setting, const shop::Machine& from,
                         const shop::Setting& new_setting, const shop::Machine& to) {
  const auto heat = [](const shop::Setting& setting, const shop::Machine& machine) {
    return machine.delivered_power_w(setting.power_pct) /
           (std::pow(machine.spot_mm, 1.5) * std::sqrt(machine.scan_speed_mm_s(setting.speed_pct)));
  };
  return {shop::dose_j_mm2(new_setting, to) / shop::dose_j_mm2(old_setting, from),
          heat(new_setting, to) / heat(old_setting, from),
          shop::pitch_mm(new_setting.dpi) / to.spot_mm / (shop::pitch_mm(old_setting.dpi) / from.spot_mm)};
}

surface::PhysicalSetting as_burned_on(const shop::Setting& setting, const shop::Machine& from,
                                      const shop::Machine& to, double delivered) {
  return surface::as_burned_there(surface::physical_setting(setting, to), move_between(from, to, delivered));
}

std::optional<shop::Setting> carried_by_dials(const shop::Setting& old_setting, const shop::Machine& from,
                                              const shop::Machine& to) {
  shop::Setting trial = old_setting;
  trial.tone_pct = to.tone_pct.nearest(old_setting.tone_pct);
  if (std::find(to.screens.begin(), to.screens.end(), trial.screen) == to.screens.end()) {
    trial.screen = to.screens.front();
  }
  const std::vector<double> powers = to.power_pct.values();
  const std::vector<double> speeds = to.speed_pct.values();
  std::optional<shop::Setting> nearest;
  double least = std::numeric_limits<double>::infinity();
  for (const int dpi : to.dpi) {
    trial.dpi = dpi;
    for (const double speed : speeds) {
      trial.speed_pct = speed;
      for (const double power : powers) {
        trial.power_pct = power;
        const CarryRatios ratios = carry_ratios(old_setting, from, trial, to);
        const double distance = squared(ratios.dose) + squared(ratios.heat) + squared(ratios.pitch);
        if (distance < least && shop::accepts(to, trial)) {
          least = distance;
          nearest = trial;
        }
      }
    }
  }
  return nearest;
}

surface::ChanceInterval carried_chance(const surface::GlassSurface& learned, const shop::Setting& setting,
                                       const shop::Machine& from, const shop::Machine& to, double delivered) {
  const std::vector<surface::PhysicalSetting> place{surface::physical_setting(setting, to)};
  return carried_chance(learned, place, move_between(from, to, delivered));
}

surface::ChanceInterval carried_chance(const surface::GlassSurface& learned,
                                       const std::vector<surface::PhysicalSetting>& places,
                                       const surface::MachineMove& move) {
  const Eigen::Index draws = learned.draws();
  Eigen::VectorXd chances(draws * static_cast<Eigen::Index>(kDoubts));
  Eigen::VectorXd weights(chances.size());
  double mean = 0;
  Eigen::Index first = 0;
  for (const auto& [at, weight] : doubted(places, move)) {
    mean += weight * learned.mean_chance_of_all(at);
    chances.segment(first, draws) = learned.drawn_chance_of_all(at);
    weights.segment(first, draws).setConstant(weight / static_cast<double>(draws));
    first += draws;
  }
  // The mean without the scatter of the draws.
  return {mean, numerics::weighted_quantile(chances, weights, 0.05),
          numerics::weighted_quantile(chances, weights, 0.95)};
}

DrawnChance carried_batch(const surface::GlassSurface& learned,
                          const std::vector<surface::PhysicalSetting>& places,
                          const surface::MachineMove& move) {
  DrawnChance carried;
  for (const auto& [at, weight] : doubted(places, move)) {
    const DrawnChance one = drawn_batch(learned, at);
    const Eigen::Index before = carried.chance.size();
    carried.chance.conservativeResize(before + one.chance.size());
    carried.weight.conservativeResize(before + one.chance.size());
    carried.chance.tail(one.chance.size()) = one.chance;
    carried.weight.tail(one.chance.size()) = weight * one.weight;
  }
  carried.single = carried_chance(learned, places, move);
  return carried;
}

choice::Decision carried_decision(const surface::GlassSurface& learned, const shop::Setting& setting,
                                  const shop::Machine& from, const shop::Machine& to,
                                  const shop::Acceptance& acceptance, double delivered) {
  return choice::describe_setting(setting, to, carried_chance(learned, setting, from, to, delivered),
                                  averaged_chance(learned, from, to, delivered), acceptance);
}

CarriedSetting carried_setting(const surface::ShopEvidence& evidence, const surface::ShopSurface& surfaces,
                               const std::string& glass, const shop::Machine& from, const shop::Machine& to,
                               const std::optional<SettingsRow>& row) {
  const std::string name = surface::surface_name(glass, from.name);
  const choice::EvidenceCount known = choice::count_evidence(evidence, name);
  CarriedSetting carried;
  carried.by_surface = known.swatches >= choice::kFewSwatches || (!row && known.swatches + known.pieces > 0);
  carried.delivered = delivered_share(surfaces, from, to);
  if (carried.by_surface) {
    carried.setting = carried_by_surface(surfaces.glass(name), from, to, carried.delivered);
  } else if (row) {
    carried.setting = carried_by_dials(row->setting, from, to);
  }
  return carried;
}

std::optional<shop::Setting> carried_by_surface(const surface::GlassSurface& learned,
                                                const shop::Machine& from, const shop::Machine& to,
                                                double delivered) {
  const auto ranked = choice::rank_settings(to, averaged_chance(learned, from, to, delivered));
  if (ranked.empty()) return std::nullopt;
  return ranked.front().setting;
}

}  // namespace frostcal::table
