// The fitted surface of one glass: what it says of any setting, and what a planner needs to improve it.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <utility>
#include <vector>

#include "surface/glass_rows.hpp"
#include "surface/response_fit.hpp"

namespace frostcal::surface {

/// Acceptable when the frost grade is at least `frost` and the chipping grade at most `chipping`.
struct Bar {
  int frost = 4;
  int chipping = 0;
};

struct ChanceInterval {
  double chance = 0;  // posterior mean
  double low = 0;     // 5 % quantile; the mean where that is lower
  double high = 0;    // 95 % quantile; the mean where that is higher
};

/// What is believed of a chance: values, ascending, and how much probability lies below the middle of each.
struct BelievedChance {
  std::vector<double> value;
  std::vector<double> below;

  /// From values with their weights, which sum to 1; sorts them.
  explicit BelievedChance(std::vector<std::pair<double, double>>& weighted);
  /// The quantile.
  double at(double share) const;
  /// The probability of less.
  double share_below(double chance) const;
};

struct GradeProbabilities {
  std::array<double, 6> frost{};
  std::array<double, 4> chipping{};
};

/// How far each response carries the chance at a setting: chance of enough frost alone, of no chipping beyond
/// the bar alone, and the chance if bottles did not differ.
struct ChanceParts {
  double frost = 0;
  double chipping = 0;
  double without_bottle_spread = 0;
};

/// A latent contrast of one scale component: good when contrast + noise > 0. For frost it is eta minus the
/// cutpoint of the bar, for chipping the cutpoint of the bar minus eta. It is g' beta with g = (sign *
/// features(x), 1) and beta ~ N(mean, covariance), p + 1 long; sign is +1 for frost and -1 for chipping.
///   P(good on a new bottle) = F(g' mean / sqrt(noise^2 + new_bottle_variance + g' covariance g))    (probit)
/// One more swatch at x, of Fisher information w about its contrast, turns covariance S into
/// S - w S g g' S / (1 + w (v + g' S g)), v = variance of the new swatch's own bottle, burn and grader
/// effects.
struct ContrastComponent {
  double weight = 0;
  int length_choice = 0;
  double dose_shift = 0;
  double sign = 1;
  double noise = 0;
  double bottle_sd = 0;
  double new_bottle_variance = 0;
  Eigen::VectorXd mean;
  Eigen::MatrixXd covariance;
  bool always_good = false;  // the bar accepts every grade
};

/// The posterior of one glass. Immutable and safe to copy; all functions are deterministic. Settings are
/// physical and must be positive (errors::Bug otherwise). A "new bottle" is one not seen yet: bottle, burn
/// and grader spread are integrated.
class GlassSurface {
 public:
  GlassSurface(std::string glass, std::shared_ptr<const SurfaceBasis> basis, Link link, Bar bar,
               GlassRows rows, ResponsePosterior frost, ResponsePosterior chipping, int draws,
               std::uint64_t seed);

  const std::string& glass() const { return glass_; }
  const Bar& bar() const { return bar_; }
  Link link() const { return link_; }
  const SurfaceBasis& basis() const { return *basis_; }
  /// The rows it was fitted to; empty for a glass not graded yet.
  const GlassRows& rows() const { return rows_; }
  FitStatus status() const;

  /// Posterior mean chance of an acceptable new bottle, one per setting. About 20 us a setting in large
  /// batches.
  Eigen::VectorXd mean_chance(const std::vector<PhysicalSetting>& settings) const;
  /// The same for many settings (600,000 in under a second): settings that share pitch, tone and passes are
  /// interpolated in ln power and ln speed between exact values on a grid; error under
  /// 0.002, tested. Groups too small to be worth a grid are computed exactly.
  Eigen::VectorXd scan_chance(const std::vector<PhysicalSetting>& settings) const;
  /// With the central 90 % interval of the chance itself, frost and chipping independent of each other.
  std::vector<ChanceInterval> chance(const std::vector<PhysicalSetting>& settings) const;
  ChanceInterval chance(const PhysicalSetting& setting) const;
  /// See drawn_chance_of_all. By the places that have the least mean of each response.
  ChanceInterval chance_of_all(const std::vector<PhysicalSetting>& places) const;
  double mean_chance_of_all(const std::vector<PhysicalSetting>& places) const;
  ChanceParts chance_parts(const PhysicalSetting& setting) const;
  /// Probability of each grade on a new bottle.
  GradeProbabilities grade_probabilities(const PhysicalSetting& setting) const;

  int draws() const { return draws_; }
  /// Chance of an acceptable new bottle at each setting (row) under each posterior draw first..first+count-1
  /// (column). Draws are exchangeable: any run of them is a sample. Both responses share the draw's index.
  Eigen::MatrixXd drawn_chance(const std::vector<PhysicalSetting>& settings, int first, int count) const;
  Eigen::MatrixXd drawn_chance(const std::vector<PhysicalSetting>& settings) const {
    return drawn_chance(settings, 0, draws_);
  }
  /// Of one new bottle that gets different settings at several places (one mark on a taper), each draw: what
  /// is seen of a bottle is its worst, so frost is that of the place where its chance is least, and chipping
  /// that of the place where its own is. At one place as drawn_chance.
  Eigen::VectorXd drawn_chance_of_all(const std::vector<PhysicalSetting>& places) const;
  /// The same of each of several bottles (row), for those that one person looks at: the grader's effect is
  /// drawn with the surface and shared, not spread anew over each bottle.
  Eigen::MatrixXd drawn_batch_chance(const std::vector<std::vector<PhysicalSetting>>& bottles) const;

  /// The weighted Gaussians of each response's contrast with the bar, for variance updates by a planner.
  const std::vector<ContrastComponent>& contrasts(Response response) const;
  /// Rows g' = (sign * features, 1) of a component at each setting: n x (p + 1).
  Eigen::MatrixXd contrast_features(const ContrastComponent& component,
                                    const std::vector<PhysicalSetting>& settings) const;
  /// The same at the places of a block of this basis.
  static Eigen::MatrixXd contrast_features(const ContrastComponent& component, FeatureBlock& block);
  /// Everything: surface weights, local effects and cutpoint gaps of every component.
  const ResponsePosterior& posterior(Response response) const;

 private:
  struct Draw {
    int component = 0;
    Eigen::VectorXd beta;
  };
  /// The draws of each response, made when first asked for; shared by copies.
  struct Drawn {
    std::once_flag once[2];
    std::vector<Draw> draws[2];
  };
  enum class Precision { full, single };  // of the variances
  Eigen::MatrixXd chance_of_each(const Eigen::Matrix4Xd& u, Precision precision) const;
  Eigen::VectorXd response_chance(Response response, FeatureBlock& block, bool bottle_spread,
                                  Precision precision) const;
  std::vector<Draw> sample(const std::vector<ContrastComponent>& contrasts, std::uint64_t seed) const;
  const std::vector<Draw>& draws_of(Response response) const;
  /// At each of the block's settings. Computed, not drawn: rules at fixed bars must not turn on the luck of
  /// some draws.
  std::vector<BelievedChance> believed_chances(Response response, FeatureBlock& block) const;
  /// Where the mean chance of each response is least, and the product of the two.
  struct LeastPlaces {
    PhysicalSetting frost, chipping;
    double chance = 0;
  };
  LeastPlaces least_places(const std::vector<PhysicalSetting>& places) const;
  /// Each of frost and chipping by itself, 1 where every grade is good.
  std::array<Eigen::MatrixXd, 2> drawn_of_each(const std::vector<PhysicalSetting>& settings, int first,
                                               int count, bool graders) const;
  /// `chance` is ones before; `grader` has one effect per draw, or is empty: integrated.
  void multiply_drawn(Response response, const Eigen::Matrix4Xd& u, int first, const Eigen::VectorXd& grader,
                      Eigen::MatrixXd& chance) const;

  std::string glass_;
  std::shared_ptr<const SurfaceBasis> basis_;
  Link link_;
  Bar bar_;
  GlassRows rows_;
  ResponsePosterior frost_;
  ResponsePosterior chipping_;
  std::vector<ContrastComponent> frost_contrasts_;
  std::vector<ContrastComponent> chipping_contrasts_;
  int draws_;
  std::uint64_t seed_;
  std::shared_ptr<Drawn> drawn_;
};

}  // namespace frostcal::surface
