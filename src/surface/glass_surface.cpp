#include "surface/glass_surface.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <map>
#include <mutex>
#include <tuple>

#include "errors/bug.hpp"
#include "numerics/normal_tail.hpp"
#include "numerics/parallel_for.hpp"
#include "numerics/quadratic_form.hpp"
#include "numerics/random_engine.hpp"
#include "surface/chance_interpolation.hpp"

namespace frostcal::surface {
namespace {

/// Cutpoint of the bar as an index into the cutpoints (0 based), or -1 when every grade is accepted.
int bar_cutpoint(Response response, const Bar& bar) {
  if (response == Response::frost) return bar.frost <= 0 ? -1 : bar.frost - 1;
  return bar.chipping >= categories(response) - 1 ? -1 : bar.chipping;
}

/// Linear map from (weights, gaps) to (weights, -sign * cutpoint): the contrast's beta.
ContrastComponent contrast_of(const ScaleComponent& c, Response response, int cutpoint) {
  ContrastComponent out;
  out.weight = c.weight;
  out.length_choice = c.length_choice;
  out.dose_shift = c.dose_shift;
  out.sign = response == Response::frost ? 1 : -1;
  out.noise = c.noise;
  out.bottle_sd = c.bottle_sd;
  out.new_bottle_variance = c.new_bottle_variance;
  out.always_good = cutpoint < 0;
  const Eigen::Index gaps = categories(response) - 2;
  const Eigen::Index p = c.mean.size() - gaps;
  const Eigen::Index used = std::max(cutpoint, 0);  // gaps below the cutpoint
  const double by = -out.sign * kGapSd;
  out.mean.resize(p + 1);
  out.mean << c.mean.head(p), -out.sign * (kFirstCutpoint + static_cast<double>(used) * kGapMean) +
                                  by * c.mean.segment(p, used).sum();
  out.covariance.resize(p + 1, p + 1);
  out.covariance.topLeftCorner(p, p) = c.covariance.topLeftCorner(p, p);
  out.covariance.topRightCorner(p, 1) = by * c.covariance.block(0, p, p, used).rowwise().sum();
  out.covariance.bottomLeftCorner(1, p) = out.covariance.topRightCorner(p, 1).transpose();
  out.covariance(p, p) = by * by * c.covariance.block(p, p, used, used).sum();
  return out;
}

std::vector<ContrastComponent> contrasts_of(const ResponsePosterior& posterior, const Bar& bar) {
  std::vector<ContrastComponent> out;
  const int cutpoint = bar_cutpoint(posterior.response, bar);
  for (const ScaleComponent& c : posterior.components) {
    out.push_back(contrast_of(c, posterior.response, cutpoint));
  }
  return out;
}

/// Those that can be less than good, by what their features depend on.
std::map<std::pair<int, double>, std::vector<const ContrastComponent*>> alike(
    const std::vector<ContrastComponent>& contrasts) {
  std::map<std::pair<int, double>, std::vector<const ContrastComponent*>> groups;
  for (const ContrastComponent& c : contrasts) {
    if (!c.always_good) groups[{c.length_choice, c.dose_shift}].push_back(&c);
  }
  return groups;
}

constexpr int kPointsOfComponent = 64;
constexpr int kPointsOfNarrower = 128;

double spread_of(const BelievedChance& one) {
  return one.value.back() - one.value.front() < 1e-12 ? 0 : one.at(0.95) - one.at(0.05);
}

/// The p quantile of the product of two independent chances.
double product_quantile(const BelievedChance& a, const BelievedChance& b, double p) {
  const bool a_is_wider = spread_of(a) > spread_of(b);
  const BelievedChance& wide = a_is_wider ? a : b;
  const BelievedChance& narrow = a_is_wider ? b : a;
  if (spread_of(wide) == 0) return wide.value.front() * narrow.value.front();
  std::vector<double> points;
  for (int k = 0; k < kPointsOfNarrower; ++k) points.push_back(narrow.at((k + 0.5) / kPointsOfNarrower));
  double low = 0;
  double high = 1;
  for (int step = 0; step < 30; ++step) {
    const double q = 0.5 * (low + high);
    double below = 0;
    for (const double x : points) below += x > q ? wide.share_below(q / x) : 1;
    (below < p * kPointsOfNarrower ? low : high) = q;
  }
  return 0.5 * (low + high);
}

/// With the central 90 % of the product of two independent chances, and never without the mean.
ChanceInterval with_interval(double mean, const BelievedChance& frost, const BelievedChance& chipping) {
  return {mean, std::min(mean, product_quantile(frost, chipping, 0.05)),
          std::max(mean, product_quantile(frost, chipping, 0.95))};
}

}  // namespace

BelievedChance::BelievedChance(std::vector<std::pair<double, double>>& weighted) {
  std::sort(weighted.begin(), weighted.end());
  double reached = 0;
  for (const auto& [chance, weight] : weighted) {
    value.push_back(chance);
    below.push_back(reached + 0.5 * weight);
    reached += weight;
  }
}

double BelievedChance::at(double share) const {
  const auto above = std::upper_bound(below.begin(), below.end(), share);
  if (above == below.begin()) return value.front();
  if (above == below.end()) return value.back();
  const auto i = static_cast<std::size_t>(above - below.begin());
  return value[i - 1] + (share - below[i - 1]) / (below[i] - below[i - 1]) * (value[i] - value[i - 1]);
}

double BelievedChance::share_below(double chance) const {
  const auto above = std::upper_bound(value.begin(), value.end(), chance);
  if (above == value.begin()) return 0;
  if (above == value.end()) return 1;
  const auto i = static_cast<std::size_t>(above - value.begin());
  return below[i - 1] + (chance - value[i - 1]) / (value[i] - value[i - 1]) * (below[i] - below[i - 1]);
}

GlassSurface::GlassSurface(std::string glass, std::shared_ptr<const SurfaceBasis> basis, Link link, Bar bar,
                           GlassRows rows, ResponsePosterior frost, ResponsePosterior chipping, int draws,
                           std::uint64_t seed)
    : glass_(std::move(glass)),
      basis_(std::move(basis)),
      link_(link),
      bar_(bar),
      rows_(std::move(rows)),
      frost_(std::move(frost)),
      chipping_(std::move(chipping)),
      frost_contrasts_(contrasts_of(frost_, bar)),
      chipping_contrasts_(contrasts_of(chipping_, bar)),
      draws_(draws),
      seed_(seed),
      drawn_(std::make_shared<Drawn>()) {
  FROSTCAL_ASSERT(draws >= 20, "GlassSurface: too few draws for an interval");
}

FitStatus GlassSurface::status() const {
  if (frost_.status == FitStatus::not_converged || chipping_.status == FitStatus::not_converged) {
    return FitStatus::not_converged;
  }
  if (frost_.status == FitStatus::no_data && chipping_.status == FitStatus::no_data)
    return FitStatus::no_data;
  return FitStatus::converged;
}

const std::vector<ContrastComponent>& GlassSurface::contrasts(Response response) const {
  return response == Response::frost ? frost_contrasts_ : chipping_contrasts_;
}

const ResponsePosterior& GlassSurface::posterior(Response response) const {
  return response == Response::frost ? frost_ : chipping_;
}

Eigen::MatrixXd GlassSurface::contrast_features(const ContrastComponent& component,
                                                const std::vector<PhysicalSetting>& settings) const {
  FeatureBlock block(*basis_, basis_->coordinates_of(settings));
  return contrast_features(component, block);
}

Eigen::MatrixXd GlassSurface::contrast_features(const ContrastComponent& component, FeatureBlock& block) {
  const Eigen::MatrixXd features = block.evaluate(component.length_choice, component.dose_shift);
  Eigen::MatrixXd g(features.rows(), features.cols() + 1);
  g.leftCols(features.cols()) = component.sign * features;
  g.rightCols(1).setOnes();
  return g;
}

Eigen::VectorXd GlassSurface::response_chance(Response response, FeatureBlock& block, bool bottle_spread,
                                              Precision precision) const {
  Eigen::VectorXd sum = Eigen::VectorXd::Zero(block.u().cols());
  for (const ContrastComponent& c : contrasts(response)) {
    if (c.always_good) sum.array() += c.weight;
  }
  for (const auto& [key, components] : alike(contrasts(response))) {
    const Eigen::MatrixXd g = contrast_features(*components[0], block);
    const Eigen::MatrixXf single =
        precision == Precision::single ? Eigen::MatrixXf(g.cast<float>()) : Eigen::MatrixXf();
    for (const ContrastComponent* c : components) {
      const Eigen::VectorXd mean = g * c->mean;
      const Eigen::VectorXd variance =
          precision == Precision::single
              ? numerics::quadratic_forms(single, Eigen::MatrixXf(c->covariance.cast<float>()))
              : numerics::quadratic_forms(g, c->covariance);
      const double extra = c->new_bottle_variance - (bottle_spread ? 0 : c->bottle_sd * c->bottle_sd);
      for (Eigen::Index i = 0; i < sum.size(); ++i) {
        sum(i) += c->weight * averaged_link_cdf(link_, mean(i), std::max(variance(i), 0.0) + extra, c->noise);
      }
    }
  }
  return sum;
}

Eigen::MatrixXd GlassSurface::chance_of_each(const Eigen::Matrix4Xd& u, Precision precision) const {
  constexpr Eigen::Index kBlock = 128;  // keeps the features of a block in the cache
  Eigen::MatrixXd chance(u.cols(), 2);
  const Eigen::Index blocks = (u.cols() + kBlock - 1) / kBlock;
  numerics::parallel_for(static_cast<std::size_t>(blocks), [&](std::size_t block) {
    const Eigen::Index first = static_cast<Eigen::Index>(block) * kBlock;
    const Eigen::Index n = std::min(kBlock, u.cols() - first);
    FeatureBlock part(*basis_, u.middleCols(first, n));
    chance.block(first, 0, n, 1) = response_chance(Response::frost, part, true, precision);
    chance.block(first, 1, n, 1) = response_chance(Response::chipping, part, true, precision);
  });
  return chance;
}

Eigen::VectorXd GlassSurface::mean_chance(const std::vector<PhysicalSetting>& settings) const {
  const Eigen::MatrixXd each = chance_of_each(basis_->coordinates_of(settings), Precision::full);
  return each.col(0).cwiseProduct(each.col(1));
}

Eigen::VectorXd GlassSurface::scan_chance(const std::vector<PhysicalSetting>& settings) const {
  // Interpolated on the normal scale, where a chance that jumps from 0 to 1 is nearly straight.
  static constexpr double kSaturated = 1e-12;
  const Eigen::MatrixXd scores = interpolate_over_power_and_speed(
      settings, 2, [this](const std::vector<PhysicalSetting>& nodes) -> Eigen::MatrixXd {
        const Eigen::MatrixXd chance = chance_of_each(basis_->coordinates_of(nodes), Precision::single);
        return chance.unaryExpr(
            [](double p) { return numerics::normal_quantile(std::clamp(p, kSaturated, 1 - kSaturated)); });
      });
  Eigen::VectorXd chance(scores.rows());
  for (Eigen::Index i = 0; i < chance.size(); ++i) {
    chance(i) = numerics::normal_cdf(scores(i, 0)) * numerics::normal_cdf(scores(i, 1));
  }
  return chance;
}

ChanceParts GlassSurface::chance_parts(const PhysicalSetting& setting) const {
  FeatureBlock u(*basis_, basis_->coordinates_of({setting}));
  ChanceParts parts;
  parts.frost = response_chance(Response::frost, u, true, Precision::full)(0);
  parts.chipping = response_chance(Response::chipping, u, true, Precision::full)(0);
  parts.without_bottle_spread = response_chance(Response::frost, u, false, Precision::full)(0) *
                                response_chance(Response::chipping, u, false, Precision::full)(0);
  return parts;
}

GradeProbabilities GlassSurface::grade_probabilities(const PhysicalSetting& setting) const {
  FeatureBlock u(*basis_, basis_->coordinates_of({setting}));
  GradeProbabilities out;
  const auto fill = [&](const ResponsePosterior& posterior, double* probabilities) {
    const int top = categories(posterior.response) - 1;
    std::vector<double> below(top + 2, 0.0);
    below[top + 1] = 1;
    for (int cut = 0; cut < top; ++cut) {
      for (const ScaleComponent& component : posterior.components) {
        const ContrastComponent c = contrast_of(component, posterior.response, cut);
        const Eigen::RowVectorXd g = contrast_features(c, u).row(0);
        const double variance = std::max(0.0, g.dot(c.covariance * g.transpose())) + c.new_bottle_variance;
        const double above = averaged_link_cdf(link_, c.sign * g.dot(c.mean), variance, c.noise);
        below[cut + 1] += component.weight * (1 - above);
      }
    }
    for (int j = 0; j <= top; ++j) probabilities[j] = std::max(0.0, below[j + 1] - below[j]);
  };
  fill(frost_, out.frost.data());
  fill(chipping_, out.chipping.data());
  return out;
}

std::vector<GlassSurface::Draw> GlassSurface::sample(const std::vector<ContrastComponent>& contrasts,
                                                     std::uint64_t seed) const {
  numerics::RandomEngine random(seed);
  // Systematic resampling of the components, then a random order, so that any run of draws is a sample.
  std::vector<int> order(draws_);
  const double start = random.uniform();
  double reached = contrasts[0].weight;
  int component = 0;
  for (int i = 0; i < draws_; ++i) {
    const double place = (i + start) / draws_;
    while (place > reached && component + 1 < static_cast<int>(contrasts.size())) {
      reached += contrasts[++component].weight;
    }
    order[i] = component;
  }
  random.shuffle(order);

  std::vector<Eigen::MatrixXd> roots(contrasts.size());
  std::vector<Draw> out(draws_);
  for (int i = 0; i < draws_; ++i) {
    const ContrastComponent& c = contrasts[order[i]];
    Eigen::MatrixXd& root = roots[order[i]];
    if (root.size() == 0) {
      Eigen::MatrixXd s = c.covariance;
      s.diagonal().array() += 1e-10 * (1 + s.diagonal().mean());
      const Eigen::LLT<Eigen::MatrixXd> llt(s);
      FROSTCAL_ASSERT(llt.info() == Eigen::Success, "posterior covariance is not positive definite");
      root = llt.matrixL();
    }
    Eigen::VectorXd z(root.rows());
    for (Eigen::Index k = 0; k < z.size(); ++k) z(k) = random.normal();
    out[i].component = order[i];
    out[i].beta = c.mean + root.triangularView<Eigen::Lower>() * z;
  }
  return out;
}

const std::vector<GlassSurface::Draw>& GlassSurface::draws_of(Response response) const {
  const std::size_t r = index_of(response);
  std::call_once(drawn_->once[r], [&] { drawn_->draws[r] = sample(contrasts(response), seed_ * 2 + r); });
  return drawn_->draws[r];
}

void GlassSurface::multiply_drawn(Response response, const Eigen::Matrix4Xd& u, int first,
                                  const Eigen::VectorXd& grader, Eigen::MatrixXd& chance) const {
  const std::vector<ContrastComponent>& all = contrasts(response);
  if (all[0].always_good) return;
  const std::vector<Draw>& draws = draws_of(response);
  std::map<int, std::vector<int>> groups;  // columns by choice of length scales
  for (int s = 0; s < chance.cols(); ++s) groups[all[draws[first + s].component].length_choice].push_back(s);
  for (const auto& [length_choice, members] : groups) {
    const Eigen::Index count = static_cast<Eigen::Index>(members.size());
    Eigen::MatrixXd weights(basis_->features(length_choice), count);
    Eigen::VectorXd shift(count);
    for (Eigen::Index j = 0; j < count; ++j) {
      const Draw& draw = draws[first + members[j]];
      weights.col(j) = all[draw.component].sign * draw.beta.head(weights.rows());
      shift(j) = all[draw.component].dose_shift;
    }
    const Eigen::MatrixXd latent = basis_->combine(u, length_choice, shift, weights);
    for (Eigen::Index j = 0; j < count; ++j) {
      const Draw& draw = draws[first + members[j]];
      const ContrastComponent& c = all[draw.component];
      const bool drawn = grader.size() > 0;
      const double shared = draw.beta(weights.rows()) + (drawn ? grader(first + members[j]) : 0);
      const double own = c.new_bottle_variance - (drawn ? kGraderSd * kGraderSd : 0);
      for (Eigen::Index i = 0; i < chance.rows(); ++i) {
        chance(i, members[j]) *= averaged_link_cdf(link_, latent(i, j) + shared, own, c.noise);
      }
    }
  }
}

std::array<Eigen::MatrixXd, 2> GlassSurface::drawn_of_each(const std::vector<PhysicalSetting>& settings,
                                                           int first, int count, bool graders) const {
  constexpr std::uint64_t kGraders = 0x67726164657273;  // apart from the seeds of the surface's own draws
  FROSTCAL_ASSERT(first >= 0 && count >= 0 && first + count <= draws_, "drawn_of_each: draws out of range");
  const Eigen::Matrix4Xd u = basis_->coordinates_of(settings);
  numerics::RandomEngine random(seed_ ^ kGraders);
  std::array<Eigen::MatrixXd, 2> chance;
  for (const Response response : {Response::frost, Response::chipping}) {
    Eigen::VectorXd grader(graders ? draws_ : 0);
    for (Eigen::Index i = 0; i < grader.size(); ++i) grader(i) = kGraderSd * random.normal();
    Eigen::MatrixXd& of_response = chance[index_of(response)];
    of_response = Eigen::MatrixXd::Ones(static_cast<Eigen::Index>(settings.size()), count);
    multiply_drawn(response, u, first, grader, of_response);
  }
  return chance;
}

Eigen::MatrixXd GlassSurface::drawn_chance(const std::vector<PhysicalSetting>& settings, int first,
                                           int count) const {
  const auto [frost, chipping] = drawn_of_each(settings, first, count, false);
  return frost.cwiseProduct(chipping);
}

Eigen::VectorXd GlassSurface::drawn_chance_of_all(const std::vector<PhysicalSetting>& places) const {
  const auto [frost, chipping] = drawn_of_each(places, 0, draws_, false);
  return frost.colwise().minCoeff().cwiseProduct(chipping.colwise().minCoeff()).transpose();
}

Eigen::MatrixXd GlassSurface::drawn_batch_chance(
    const std::vector<std::vector<PhysicalSetting>>& bottles) const {
  std::vector<PhysicalSetting> all;
  for (const auto& places : bottles) all.insert(all.end(), places.begin(), places.end());
  const auto [frost, chipping] = drawn_of_each(all, 0, draws_, true);
  Eigen::MatrixXd chance(static_cast<Eigen::Index>(bottles.size()), draws_);
  Eigen::Index at = 0;
  for (Eigen::Index i = 0; i < chance.rows(); ++i) {
    const auto n = static_cast<Eigen::Index>(bottles[static_cast<std::size_t>(i)].size());
    chance.row(i) = frost.middleRows(at, n).colwise().minCoeff().cwiseProduct(
        chipping.middleRows(at, n).colwise().minCoeff());
    at += n;
  }
  return chance;
}

std::vector<BelievedChance> GlassSurface::believed_chances(Response response, FeatureBlock& block) const {
  const auto count = static_cast<std::size_t>(block.u().cols());
  std::vector<std::vector<std::pair<double, double>>> weighted(count);
  static const Eigen::VectorXd normal = [] {
    Eigen::VectorXd z(kPointsOfComponent);
    for (int k = 0; k < kPointsOfComponent; ++k) {
      z(k) = numerics::normal_quantile((k + 0.5) / kPointsOfComponent);
    }
    return z;
  }();
  for (const ContrastComponent& c : contrasts(response)) {
    if (!c.always_good) continue;
    for (auto& one : weighted) one.emplace_back(1, c.weight);
  }
  for (const auto& [key, components] : alike(contrasts(response))) {
    const Eigen::MatrixXd g = contrast_features(*components[0], block);
    for (const ContrastComponent* c : components) {
      const Eigen::VectorXd mean = g * c->mean;
      const Eigen::VectorXd sd = numerics::quadratic_forms(g, c->covariance).cwiseMax(0.0).cwiseSqrt();
      for (std::size_t i = 0; i < count; ++i) {
        const Eigen::Index at = static_cast<Eigen::Index>(i);
        for (const double z : normal) {
          const double latent = mean(at) + sd(at) * z;
          weighted[i].emplace_back(averaged_link_cdf(link_, latent, c->new_bottle_variance, c->noise),
                                   c->weight / kPointsOfComponent);
        }
      }
    }
  }
  std::vector<BelievedChance> believed;
  for (auto& one : weighted) believed.emplace_back(one);
  return believed;
}

std::vector<ChanceInterval> GlassSurface::chance(const std::vector<PhysicalSetting>& settings) const {
  const Eigen::VectorXd mean = mean_chance(settings);
  FeatureBlock block(*basis_, basis_->coordinates_of(settings));
  const std::vector<BelievedChance> frost = believed_chances(Response::frost, block);
  const std::vector<BelievedChance> chipping = believed_chances(Response::chipping, block);
  std::vector<ChanceInterval> out(settings.size());
  numerics::parallel_for(settings.size(), [&](std::size_t i) {
    out[i] = with_interval(mean(static_cast<Eigen::Index>(i)), frost[i], chipping[i]);
  });
  return out;
}

GlassSurface::LeastPlaces GlassSurface::least_places(const std::vector<PhysicalSetting>& places) const {
  const Eigen::MatrixXd each = chance_of_each(basis_->coordinates_of(places), Precision::full);
  Eigen::Index frost = 0;
  Eigen::Index chipping = 0;
  const double least_frost = each.col(0).minCoeff(&frost);
  const double least_chipping = each.col(1).minCoeff(&chipping);
  return {places[static_cast<std::size_t>(frost)], places[static_cast<std::size_t>(chipping)],
          least_frost * least_chipping};
}

double GlassSurface::mean_chance_of_all(const std::vector<PhysicalSetting>& places) const {
  return least_places(places).chance;
}

ChanceInterval GlassSurface::chance_of_all(const std::vector<PhysicalSetting>& places) const {
  const LeastPlaces least = least_places(places);
  FeatureBlock frost_block(*basis_, basis_->coordinates_of({least.frost}));
  FeatureBlock chipping_block(*basis_, basis_->coordinates_of({least.chipping}));
  return with_interval(least.chance, believed_chances(Response::frost, frost_block).front(),
                       believed_chances(Response::chipping, chipping_block).front());
}

ChanceInterval GlassSurface::chance(const PhysicalSetting& setting) const {
  return chance(std::vector<PhysicalSetting>{setting})[0];
}

}  // namespace frostcal::surface
