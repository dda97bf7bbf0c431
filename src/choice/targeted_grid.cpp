#include "choice/targeted_grid.hpp"

#include <Eigen/Core>
#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "choice/machine_settings.hpp"
#include "errors/bug.hpp"
#include "numerics/normal_tail.hpp"
#include "numerics/random_engine.hpp"
#include "surface/physical_setting.hpp"

namespace frostcal::choice {

using Eigen::ArrayXd;
using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;
using surface::ContrastComponent;
using surface::GlassSurface;
using surface::PhysicalSetting;
using surface::Response;

namespace {

struct Candidates {
  std::vector<shop::Setting> settings;
  std::vector<PhysicalSetting> physical;
};

Candidates gather_candidates(const shop::Machine& machine, const shop::Machine& allowed, double ratio) {
  const MachineSettings all = machine_settings(allowed);
  Candidates candidates;
  std::vector<std::size_t> tones{all.tone_pct.size() - 1};
  if (all.tone_pct.size() > 1) tones = log_spaced(all.tone_pct, 1.3);
  for (const std::size_t t : tones) {
    for (std::size_t d = 0; d < all.dpi.size(); ++d) {
      for (const std::size_t s : log_spaced(all.speed_pct, ratio)) {
        for (const std::size_t p : log_spaced(all.power_pct, ratio)) {
          const shop::Setting setting = all.at(p, s, d, t);
          if (!shop::accepts(machine, setting)) continue;
          candidates.settings.push_back(setting);
          candidates.physical.push_back(surface::physical_setting(setting, machine));
        }
      }
    }
  }
  return candidates;
}

// Fisher information of one ordinal grade about its latent value eta, for a contrast `value` with the bar's
// cutpoint (eta less that cutpoint, in the direction of the grades). Cutpoints stand one grade apart.
double grade_information(double value, double noise, Response response, const surface::Bar& bar) {
  const bool frost = response == Response::frost;
  const int cutpoints = frost ? 5 : 3;
  const int at_bar = frost ? bar.frost - 1 : bar.chipping;
  double information = 0;
  double below = 0;
  double density_below = 0;
  for (int j = 0; j <= cutpoints; ++j) {
    const double z = j == cutpoints ? 0 : (j - at_bar - value) / noise;
    const double upto = j == cutpoints ? 1 : numerics::normal_cdf(z);
    const double density = j == cutpoints ? 0 : numerics::normal_density(z);
    const double share = upto - below;
    if (share > 1e-12) information += (density - density_below) * (density - density_below) / share;
    below = upto;
    density_below = density;
  }
  return information / (noise * noise);
}

// One scale component of one response over S targets and n candidates, kept up to date as swatches are
// chosen.
struct ComponentState {
  const ContrastComponent* component = nullptr;
  double weight = 0;
  MatrixXd rows;           // n x (p + 1): features of the candidates
  MatrixXd target_cov;     // S x n: Cov(contrast at x_s, contrast at candidate)
  VectorXd target_var;     // S
  VectorXd candidate_var;  // n
  VectorXd information;    // n: of one swatch there
  VectorXd squared_slope;  // S: (d chance / d contrast)^2 at x_s
  std::vector<std::pair<double, VectorXd>> updates;

  double own_variance() const { return component->new_bottle_variance; }

  // Cov(contrast at each candidate, contrast at `chosen`), after the updates so far.
  VectorXd covariance_with(Index chosen) const {
    const VectorXd direction = component->covariance * rows.row(chosen).transpose();
    VectorXd values = rows * direction;
    for (const auto& [factor, with] : updates) values -= factor * with[chosen] * with;
    return values;
  }

  void take(Index chosen) {
    const VectorXd with = covariance_with(chosen);
    const double factor =
        information[chosen] / (1 + information[chosen] * (own_variance() + candidate_var[chosen]));
    const VectorXd target_column = target_cov.col(chosen);
    target_cov.noalias() -= factor * target_column * with.transpose();
    target_var -= factor * target_column.cwiseAbs2();
    candidate_var = (candidate_var - factor * with.cwiseAbs2()).cwiseMax(0.0);
    updates.emplace_back(factor, with);
  }
};

VectorXd probability_slope(const ContrastComponent& component, const VectorXd& mean,
                           const VectorXd& variance) {
  VectorXd slope(mean.size());
  for (Index i = 0; i < mean.size(); ++i) {
    const double sd =
        std::sqrt(component.noise * component.noise + component.new_bottle_variance + variance[i]);
    slope[i] = numerics::normal_density(mean[i] / sd) / sd;
  }
  return slope;
}

VectorXd probability(const ContrastComponent& component, const VectorXd& mean, const VectorXd& variance) {
  VectorXd value(mean.size());
  for (Index i = 0; i < mean.size(); ++i) {
    value[i] = numerics::normal_cdf(
        mean[i] / std::sqrt(component.noise * component.noise + component.new_bottle_variance + variance[i]));
  }
  return value;
}

// Components that carry most of the weight; the rest would cost time and change nothing.
std::vector<const ContrastComponent*> heavy(const std::vector<ContrastComponent>& all, std::size_t most) {
  std::vector<const ContrastComponent*> picked;
  for (const ContrastComponent& component : all) {
    if (!component.always_good) picked.push_back(&component);
  }
  std::stable_sort(picked.begin(), picked.end(),
                   [](const auto* a, const auto* b) { return a->weight > b->weight; });
  if (picked.size() > most) picked.resize(most);
  return picked;
}

struct ResponseState {
  std::vector<ComponentState> components;
  VectorXd target_chance;  // S: mean chance that this response is good at x_s
};

ResponseState prepare(const GlassSurface& surface, Response response,
                      const std::vector<PhysicalSetting>& targets,
                      const std::vector<PhysicalSetting>& candidates) {
  constexpr std::size_t kMostComponents = 8;
  ResponseState state;
  state.target_chance = VectorXd::Zero(static_cast<Index>(targets.size()));
  const std::vector<const ContrastComponent*> picked = heavy(surface.contrasts(response), kMostComponents);
  double total = 0;
  for (const ContrastComponent* component : picked) total += component->weight;
  if (picked.empty()) state.target_chance.setOnes();
  for (const ContrastComponent* component : picked) {
    const MatrixXd target_rows = surface.contrast_features(*component, targets);
    ComponentState part;
    part.component = component;
    part.weight = component->weight / total;
    part.rows = surface.contrast_features(*component, candidates);
    const MatrixXd spread = target_rows * component->covariance;  // S x p
    part.target_cov.noalias() = spread * part.rows.transpose();
    part.target_var = spread.cwiseProduct(target_rows).rowwise().sum();
    const MatrixXd candidate_spread = part.rows * component->covariance;
    part.candidate_var = candidate_spread.cwiseProduct(part.rows).rowwise().sum().cwiseMax(0.0);
    const VectorXd target_mean = target_rows * component->mean;
    part.squared_slope = probability_slope(*component, target_mean, part.target_var).cwiseAbs2();
    state.target_chance += part.weight * probability(*component, target_mean, part.target_var);

    // Three-point Gauss-Hermite: nodes 0 and +-sqrt(3) sd, weights 2/3 and 1/6 (Abramowitz & Stegun
    // 1964, 25.4.46).
    const VectorXd mean = component->sign * (part.rows * component->mean);
    part.information.resize(mean.size());
    for (Index i = 0; i < mean.size(); ++i) {
      const double step = std::sqrt(3 * part.candidate_var[i]);
      part.information[i] =
          2.0 / 3 * grade_information(mean[i], component->noise, response, surface.bar()) +
          1.0 / 6 *
              (grade_information(mean[i] - step, component->noise, response, surface.bar()) +
               grade_information(mean[i] + step, component->noise, response, surface.bar()));
    }
    state.components.push_back(std::move(part));
  }
  return state;
}

// Adds what each candidate would take off the doubt through this response. other: the other response's chance
// at x_s.
void add_reductions(const ResponseState& state, const VectorXd& other, VectorXd& reduction) {
  const VectorXd other_squared = other.cwiseAbs2();
  for (const ComponentState& part : state.components) {
    const VectorXd scale = part.weight * part.squared_slope.cwiseProduct(other_squared);  // S
    const VectorXd taken = part.target_cov.cwiseAbs2().transpose() * scale;               // n
    const ArrayXd information = part.information.array();
    reduction.array() +=
        taken.array() * information / (1 + information * (part.own_variance() + part.candidate_var.array()));
  }
}

double doubt(const ResponseState& state, const VectorXd& other) {
  double sum = 0;
  for (const ComponentState& part : state.components) {
    sum +=
        part.weight *
        part.squared_slope.cwiseProduct(other.cwiseAbs2()).cwiseProduct(part.target_var.cwiseMax(0.0)).sum();
  }
  return sum / static_cast<double>(other.size());
}

}  // namespace

TargetedGrid plan_targeted(const GlassSurface& surface, const shop::Machine& machine,
                           const shop::Machine& allowed, double target, const TargetedOptions& options) {
  FROSTCAL_ASSERT(options.swatches > 0 && options.most_dpi > 0 && options.draws > 0, "a grid needs swatches");
  const Candidates candidates = gather_candidates(machine, allowed, options.candidate_ratio);
  TargetedGrid plan;
  if (candidates.settings.empty()) return plan;

  // Best setting of each drawn surface.
  numerics::RandomEngine random(options.seed);
  const int draws = std::min(options.draws, surface.draws());
  const int first = static_cast<int>(random.below(static_cast<std::uint64_t>(surface.draws() - draws + 1)));
  const MatrixXd drawn = surface.drawn_chance(candidates.physical, first, draws);
  std::vector<PhysicalSetting> targets;
  VectorXd best_of_draw(draws);
  for (Index s = 0; s < draws; ++s) {
    Index at = 0;
    best_of_draw[s] = drawn.col(s).maxCoeff(&at);
    targets.push_back(candidates.physical[static_cast<std::size_t>(at)]);
  }
  plan.best_if_known = best_of_draw.mean();
  plan.best_now = drawn.rowwise().mean().maxCoeff();
  plan.share_reaching = (best_of_draw.array() >= target).cast<double>().mean();

  const std::array<Response, 2> responses{Response::frost, Response::chipping};
  std::array<ResponseState, 2> states;
  for (std::size_t r = 0; r < 2; ++r)
    states[r] = prepare(surface, responses[r], targets, candidates.physical);
  const auto whole_doubt = [&] {
    return doubt(states[0], states[1].target_chance) + doubt(states[1], states[0].target_chance);
  };
  plan.doubt_before = whole_doubt();

  std::set<int> used_dpi;
  std::vector<int> times(candidates.settings.size(), 0);
  for (int step = 0; step < options.swatches; ++step) {
    VectorXd reduction = VectorXd::Zero(static_cast<Index>(candidates.settings.size()));
    add_reductions(states[0], states[1].target_chance, reduction);
    add_reductions(states[1], states[0].target_chance, reduction);
    Index chosen = -1;
    for (Index i = 0; i < reduction.size(); ++i) {
      const std::size_t at = static_cast<std::size_t>(i);
      const int dpi = candidates.settings[at].dpi;
      const bool new_burn = used_dpi.count(dpi) == 0;
      if (times[at] >= options.most_alike ||
          (new_burn && static_cast<int>(used_dpi.size()) >= options.most_dpi)) {
        continue;
      }
      if (chosen < 0 || reduction[i] > reduction[chosen]) chosen = i;
    }
    if (chosen < 0) break;
    ++times[static_cast<std::size_t>(chosen)];
    used_dpi.insert(candidates.settings[static_cast<std::size_t>(chosen)].dpi);
    plan.settings.push_back(candidates.settings[static_cast<std::size_t>(chosen)]);
    for (ResponseState& state : states) {
      for (ComponentState& part : state.components) part.take(chosen);
    }
    if (options.progress) options.progress(step + 1, options.swatches);
  }
  plan.doubt_after = whole_doubt();
  const double removed = plan.doubt_before > 0 ? 1 - plan.doubt_after / plan.doubt_before : 0;
  plan.expected_gain = std::max(0.0, plan.best_if_known - plan.best_now) * std::clamp(removed, 0.0, 1.0);
  return plan;
}

}  // namespace frostcal::choice
