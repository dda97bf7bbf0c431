#include "choice/doubt_reduction.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "errors/bug.hpp"
#include "numerics/normal_tail.hpp"
#include "numerics/parallel_for.hpp"
#include "numerics/quadratic_form.hpp"

namespace frostcal::choice {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;
using surface::ContrastComponent;
using surface::GlassSurface;
using surface::PhysicalSetting;
using surface::Response;

namespace {

constexpr std::size_t kMostComponents = 8;
constexpr Index kBlock = 512;  // candidates worked on at a time, so that they stay in the cache

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

// grade_information as a function of the contrast: cubic between points an eighth of the noise apart.
class InformationCurve {
 public:
  InformationCurve(double noise, Response response, const surface::Bar& bar) : step_(noise / 8) {
    constexpr double kCutpoints = 5;  // and no response has more
    constexpr double kTail = 8;       // grades are certain so many noises beyond the last cutpoint
    first_ = -kCutpoints - kTail * noise;
    const Index count = static_cast<Index>(std::ceil(-2 * first_ / step_)) + 1;
    value_.resize(count);
    for (Index i = 0; i < count; ++i) {
      value_[i] = grade_information(first_ + step_ * static_cast<double>(i), noise, response, bar);
    }
  }

  double at(double contrast) const {
    const double place = (contrast - first_) / step_;
    if (!(place >= 1 && place < static_cast<double>(value_.size() - 2))) return 0;
    const Index i = static_cast<Index>(place);
    const double t = place - static_cast<double>(i);
    const double a = value_[i - 1], b = value_[i], c = value_[i + 1], d = value_[i + 2];
    // Lagrange's polynomial through the four points round it.
    return b + t * (c - a / 3 - b / 2 - d / 6 + t * ((a + c) / 2 - b + t * ((d - a) / 6 + (b - c) / 2)));
  }

  // Three-point Gauss-Hermite: nodes 0 and +-sqrt(3) sd, weights 2/3 and 1/6 (Abramowitz & Stegun 1964,
  // 25.4.46).
  double mean(double contrast, double variance) const {
    const double step = std::sqrt(3 * variance);
    return 2.0 / 3 * at(contrast) + 1.0 / 6 * (at(contrast - step) + at(contrast + step));
  }

 private:
  double first_ = 0;
  double step_;
  VectorXd value_;
};

double contrast_sd(const ContrastComponent& component, double variance) {
  return std::sqrt(component.noise * component.noise + component.new_bottle_variance + variance);
}

// Components that carry most of the weight; the rest would cost time and change nothing.
std::vector<const ContrastComponent*> heavy(const std::vector<ContrastComponent>& all) {
  std::vector<const ContrastComponent*> picked;
  for (const ContrastComponent& component : all) {
    if (!component.always_good) picked.push_back(&component);
  }
  std::stable_sort(picked.begin(), picked.end(),
                   [](const auto* a, const auto* b) { return a->weight > b->weight; });
  if (picked.size() > kMostComponents) picked.resize(kMostComponents);
  return picked;
}

// x' C x of each column.
VectorXd quadratic_forms(const MatrixXd& columns, const MatrixXd& covariance) {
  VectorXd forms(columns.cols());
  for (Index first = 0; first < columns.cols(); first += kBlock) {
    const Index count = std::min(kBlock, columns.cols() - first);
    const MatrixXd rows = columns.middleCols(first, count).transpose();
    forms.segment(first, count) = numerics::quadratic_forms(rows, covariance).cwiseMax(0.0);
  }
  return forms;
}

bool same(const PhysicalSetting& a, const PhysicalSetting& b) {
  return a.power_w == b.power_w && a.speed_mm_s == b.speed_mm_s && a.pitch_mm == b.pitch_mm &&
         a.tone == b.tone && a.passes == b.passes;
}

// Each of them once, and how often it was there.
std::vector<PhysicalSetting> distinct(const std::vector<PhysicalSetting>& settings, VectorXd& times) {
  std::vector<PhysicalSetting> kept;
  std::vector<double> counts;
  for (const PhysicalSetting& setting : settings) {
    const auto found = std::find_if(kept.begin(), kept.end(),
                                    [&](const PhysicalSetting& other) { return same(setting, other); });
    const std::size_t at = static_cast<std::size_t>(found - kept.begin());
    if (found == kept.end()) {
      kept.push_back(setting);
      counts.push_back(0);
    }
    ++counts[at];
  }
  times = Eigen::Map<const VectorXd>(counts.data(), static_cast<Index>(counts.size()));
  return kept;
}

}  // namespace

struct DoubtReduction::Pick {
  Response response = Response::frost;
  const ContrastComponent* contrast = nullptr;
  double weight = 0;  // of those picked for the response
  std::size_t features = 0;
};

DoubtReduction::DoubtReduction(const GlassSurface& surface, const std::vector<PhysicalSetting>& targets,
                               const std::vector<PhysicalSetting>& candidates)
    : candidates_(static_cast<Index>(candidates.size())), updates_seen_(candidates.size(), 0) {
  FROSTCAL_ASSERT(!targets.empty() && candidates_ > 0, "doubt is about some setting");
  const std::vector<PhysicalSetting> kept = distinct(targets, times_);
  targets_ = times_.size();
  std::vector<Pick> picks;
  for (const Response response : {Response::frost, Response::chipping}) {
    const std::vector<const ContrastComponent*> picked = heavy(surface.contrasts(response));
    double total = 0;
    for (const ContrastComponent* one : picked) total += one->weight;
    for (const ContrastComponent* one : picked) picks.push_back({response, one, one->weight / total, 0});
  }
  add_features(surface, picks, candidates);
  components_.resize(picks.size());
  std::vector<VectorXd> chances(picks.size());
  numerics::parallel_for(picks.size(), [&](std::size_t i) {
    components_[i] = component_of(surface, picks[i], kept, chances[i]);
  });
  std::array<VectorXd, 2> chance;
  for (std::size_t i = 0; i < picks.size(); ++i) {
    VectorXd& sum = chance[surface::index_of(picks[i].response)];
    if (sum.size() == 0) sum = VectorXd::Zero(targets_);
    sum += picks[i].weight * chances[i];
  }
  for (VectorXd& one : chance) {
    if (one.size() == 0) one = VectorXd::Ones(targets_);
  }
  initial_ = VectorXd::Zero(candidates_);
  for (std::size_t i = 0; i < components_.size(); ++i) {
    Component& part = components_[i];
    const VectorXd& other = chance[1 - surface::index_of(picks[i].response)];
    part.slope_weight = part.weight * times_.cwiseProduct(part.slope_weight).cwiseProduct(other.cwiseAbs2());
    for (Index c = 0; c < candidates_; ++c) initial_[c] += reduction(part, c);
  }
}

void DoubtReduction::add_features(const GlassSurface& surface, std::vector<Pick>& picks,
                                  const std::vector<PhysicalSetting>& candidates) {
  std::vector<Features> distinct_features;
  std::vector<const ContrastComponent*> example;
  for (Pick& pick : picks) {
    const ContrastComponent& one = *pick.contrast;
    const auto found = std::find_if(distinct_features.begin(), distinct_features.end(), [&](const auto& f) {
      return f.length_choice == one.length_choice && f.dose_shift == one.dose_shift && f.sign == one.sign;
    });
    pick.features = static_cast<std::size_t>(found - distinct_features.begin());
    if (found != distinct_features.end()) continue;
    distinct_features.push_back({one.length_choice, one.dose_shift, one.sign, {}});
    example.push_back(&one);
  }
  const Eigen::Matrix4Xd u = surface.basis().coordinates_of(candidates);
  numerics::parallel_for(surface::kLengthChoices, [&](std::size_t length_choice) {
    surface::FeatureBlock block(surface.basis(), u);
    for (std::size_t i = 0; i < example.size(); ++i) {
      if (example[i]->length_choice != static_cast<int>(length_choice)) continue;
      distinct_features[i].columns = GlassSurface::contrast_features(*example[i], block).transpose();
    }
  });
  for (Features& one : distinct_features) {
    features_.push_back(std::make_shared<const Features>(std::move(one)));
  }
}

DoubtReduction::Component DoubtReduction::component_of(const GlassSurface& surface, const Pick& pick,
                                                       const std::vector<PhysicalSetting>& targets,
                                                       VectorXd& target_chance) const {
  const ContrastComponent& one = *pick.contrast;
  Component part;
  part.features = pick.features;
  part.weight = pick.weight;
  part.own_variance = one.new_bottle_variance;
  part.covariance = one.covariance;
  const MatrixXd target_rows = surface.contrast_features(one, targets);
  const MatrixXd towards = target_rows * one.covariance;  // S x (p + 1)
  part.target_var = towards.cwiseProduct(target_rows).rowwise().sum();
  const VectorXd target_mean = target_rows * one.mean;
  part.slope_weight.resize(targets_);
  target_chance.resize(targets_);
  for (Index s = 0; s < targets_; ++s) {
    const double sd = contrast_sd(one, part.target_var[s]);
    const double slope = numerics::normal_density(target_mean[s] / sd) / sd;
    part.slope_weight[s] = slope * slope;
    target_chance[s] = numerics::normal_cdf(target_mean[s] / sd);
  }
  const MatrixXd& columns = features_[part.features]->columns;
  part.target_cov.noalias() = towards * columns;
  part.candidate_var = quadratic_forms(columns, one.covariance);
  const VectorXd mean = one.sign * (columns.transpose() * one.mean);
  part.information.resize(candidates_);
  const InformationCurve information(one.noise, pick.response, surface.bar());
  for (Index i = 0; i < candidates_; ++i) {
    part.information[i] = information.mean(mean[i], part.candidate_var[i]);
  }
  return part;
}

double DoubtReduction::doubt() const {
  double sum = 0;
  for (const Component& part : components_) sum += part.slope_weight.dot(part.target_var.cwiseMax(0.0));
  return sum / times_.sum();
}

double DoubtReduction::reduction(const Component& part, Index candidate) const {
  const double information = part.information[candidate];
  return part.target_cov.col(candidate).cwiseAbs2().dot(part.slope_weight) * information /
         (1 + information * (part.own_variance + part.candidate_var[candidate]));
}

void DoubtReduction::catch_up(Index candidate) {
  std::size_t& seen = updates_seen_[static_cast<std::size_t>(candidate)];
  for (Component& part : components_) {
    const MatrixXd& columns = features_[part.features]->columns;
    for (std::size_t i = seen; i < part.updates.size(); ++i) {
      const Update& update = part.updates[i];
      const double with = columns.col(candidate).dot(update.direction);
      part.target_cov.col(candidate) -= (update.factor * with) * update.targets;
      part.candidate_var[candidate] =
          std::max(0.0, part.candidate_var[candidate] - update.factor * with * with);
    }
  }
  if (!components_.empty()) seen = components_.front().updates.size();
}

VectorXd DoubtReduction::reductions(const std::vector<Index>& candidates) {
  VectorXd sum = VectorXd::Zero(static_cast<Index>(candidates.size()));
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    catch_up(candidates[i]);
    for (const Component& part : components_) sum[static_cast<Index>(i)] += reduction(part, candidates[i]);
  }
  return sum;
}

void DoubtReduction::take(Index candidate) {
  catch_up(candidate);
  for (Component& part : components_) {
    Update update;
    update.direction = part.covariance * features_[part.features]->columns.col(candidate);
    const double information = part.information[candidate];
    update.factor = information / (1 + information * (part.own_variance + part.candidate_var[candidate]));
    update.targets = part.target_cov.col(candidate);
    part.target_var -= update.factor * update.targets.cwiseAbs2();
    part.covariance.noalias() -= (update.factor * update.direction) * update.direction.transpose();
    part.updates.push_back(std::move(update));
  }
}

}  // namespace frostcal::choice
