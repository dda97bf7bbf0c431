#include "choice/leaning.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <array>
#include <map>

#include "surface/physical_setting.hpp"

namespace frostcal::choice {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;
using surface::ContrastComponent;
using surface::GlassSurface;
using surface::PhysicalSetting;
using surface::Response;

namespace {

constexpr std::size_t kMostOfSource = 120;  // of a source glass; the latest say as much as all
constexpr std::size_t kMostComponents = 4;  // of the prior; they differ little in what lies near what
constexpr std::array<Response, 2> kResponses{Response::frost, Response::chipping};

// Posterior variance of the contrast with the bar, averaged over the settings.
double mean_variance(const GlassSurface& surface, Response response,
                     const std::vector<PhysicalSetting>& settings) {
  const Index n = static_cast<Index>(settings.size());
  VectorXd mean = VectorXd::Zero(n);
  VectorXd square = VectorXd::Zero(n);
  double total = 0;
  for (const ContrastComponent& one : surface.contrasts(response)) {
    if (one.always_good) continue;
    const MatrixXd rows = surface.contrast_features(one, settings);
    const VectorXd at = rows * one.mean;
    const MatrixXd spread = rows * one.covariance;
    const VectorXd variance = spread.cwiseProduct(rows).rowwise().sum();
    mean += one.weight * at;
    square += one.weight * (at.cwiseAbs2() + variance);
    total += one.weight;
  }
  if (total <= 0) return 0;
  return (square / total - (mean / total).cwiseAbs2()).mean();
}

// Share of the prior variance at `settings` that grades at `seen` would explain.
double explained(const GlassSurface& prior, Response response, const std::vector<PhysicalSetting>& seen,
                 const std::vector<PhysicalSetting>& settings) {
  double sum = 0;
  std::size_t used = 0;
  for (const ContrastComponent& one : prior.contrasts(response)) {
    if (one.always_good || used == kMostComponents) continue;
    ++used;
    const MatrixXd there = prior.contrast_features(one, seen);
    const MatrixXd here = prior.contrast_features(one, settings);
    const MatrixXd spread = here * one.covariance;
    const MatrixXd cross = spread * there.transpose();
    MatrixXd grades = there * one.covariance * there.transpose();
    grades.diagonal().array() += one.noise * one.noise + one.new_bottle_variance;
    const MatrixXd solved = Eigen::LLT<MatrixXd>(grades).solve(cross.transpose());
    sum += (cross.transpose().cwiseProduct(solved)).sum() / spread.cwiseProduct(here).sum();
  }
  return used == 0 ? 0 : std::min(sum / static_cast<double>(used), 1 - 1e-9);
}

double others_share(const GlassSurface& known, const GlassSurface& alone, const GlassSurface& prior,
                    const std::vector<PhysicalSetting>& settings) {
  double share = 0;
  int responses = 0;
  for (const Response response : kResponses) {
    const double before = mean_variance(prior, response, settings);
    if (before <= 0) continue;
    const auto information = [&](const GlassSurface& surface) {
      return std::max(0.0, 1 / mean_variance(surface, response, settings) - 1 / before);
    };
    const double all = information(known);
    if (all > 0) share += std::clamp(1 - information(alone) / all, 0.0, 1.0);
    ++responses;
  }
  return responses == 0 ? 0 : share / responses;
}

}  // namespace

Leaning leaning_on_others(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                          const surface::ShopSurface& surfaces, const std::string& name,
                          const shop::Machine& machine, const std::vector<shop::Setting>& settings) {
  std::map<std::string, std::vector<PhysicalSetting>> seen;
  std::vector<surface::Observation> own;
  for (const surface::Observation& one : evidence.observations) {
    if (one.glass == name) {
      own.push_back(one);
    } else {
      seen[one.glass].push_back(one.setting);
    }
  }
  Leaning leaning;
  if (seen.empty() || settings.empty()) return leaning;
  std::vector<PhysicalSetting> here;
  for (const shop::Setting& setting : settings) here.push_back(surface::physical_setting(setting, machine));

  const GlassSurface& known = surfaces.glass(name);
  surface::FitOptions options = surface::shop_fit_options(shop);
  options.basis = std::make_shared<surface::SurfaceBasis>(known.basis());
  options.pool = false;
  const surface::ShopSurface nothing_graded = surface::fit_shop({}, options);
  const surface::ShopSurface only_own = surface::fit_shop(own, options);
  const GlassSurface& prior = nothing_graded.glass(name);
  leaning.others = own.empty() ? 1 : others_share(known, only_own.glass(name), prior, here);

  double total = 0;
  for (auto& [glass, places] : seen) {
    if (places.size() > kMostOfSource)
      places.erase(places.begin(), places.end() - static_cast<std::ptrdiff_t>(kMostOfSource));
    double information = 0;
    for (const Response response : kResponses) {
      const double share = explained(prior, response, places, here);
      information += share / (1 - share);
    }
    const std::size_t at = glass.find('@');
    leaning.glasses.push_back(
        {glass.substr(0, at), at == std::string::npos ? "" : glass.substr(at + 1), information});
    total += information;
  }
  for (LeanedOn& one : leaning.glasses) one.share = total > 0 ? leaning.others * one.share / total : 0;
  std::stable_sort(leaning.glasses.begin(), leaning.glasses.end(),
                   [](const LeanedOn& a, const LeanedOn& b) { return a.share > b.share; });
  return leaning;
}

}  // namespace frostcal::choice
