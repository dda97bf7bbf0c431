// How much doubt about the best setting each further swatch would take away.
#pragma once

#include <Eigen/Core>
#include <memory>
#include <vector>

#include "surface/glass_surface.hpp"

namespace frostcal::choice {

/// The doubt is the mean over the target settings of the variance of the chance there, by the delta method:
/// each response's variance of its contrast times the squared slope of the chance, summed over the scale
/// components that carry most of the weight (at most 8 of a response). A swatch of Fisher information w about
/// its contrast (averaged over the posterior by three-point Gauss-Hermite quadrature) turns covariance C into
///   C - w C g g' C / (1 + w (v + g' C g)),
/// g its features, v the variance of its own bottle, burn and grader effects. Information and slopes are
/// those of the posterior given at construction.
class DoubtReduction {
 public:
  /// `targets` and `candidates` must not be empty; equal targets are worked on once.
  DoubtReduction(const surface::GlassSurface& surface, const std::vector<surface::PhysicalSetting>& targets,
                 const std::vector<surface::PhysicalSetting>& candidates);

  /// Given the swatches taken so far.
  double doubt() const;
  /// What one more swatch at each of these candidates would take off S * doubt(), given those taken so far.
  Eigen::VectorXd reductions(const std::vector<Eigen::Index>& candidates);
  /// The same for each candidate before any was taken.
  const Eigen::VectorXd& initial_reductions() const { return initial_; }
  /// A swatch at the candidate has been decided on.
  void take(Eigen::Index candidate);

 private:
  // Features of all candidates; shared by components that see settings alike.
  struct Features {
    int length_choice = 0;
    double dose_shift = 0;
    double sign = 1;
    Eigen::MatrixXd columns;  // (p + 1) x n
  };
  // What taking a swatch changes: covariances with it, and the factor w / (1 + w (v + g' C g)).
  struct Update {
    double factor = 0;
    Eigen::VectorXd direction;  // p + 1: C g
    Eigen::VectorXd targets;    // S: covariance with each target
  };
  struct Component {
    std::size_t features = 0;  // index
    double weight = 0;
    double own_variance = 0;        // of a new swatch's bottle, burn and grader effects
    Eigen::VectorXd information;    // n
    Eigen::VectorXd slope_weight;   // S: weight * how often the target stands for a draw * squared slope
    Eigen::MatrixXd covariance;     // (p + 1) x (p + 1)
    Eigen::VectorXd target_var;     // S
    Eigen::MatrixXd target_cov;     // S x n, each column as of updates_seen_
    Eigen::VectorXd candidate_var;  // n, likewise
    std::vector<Update> updates;
  };

  struct Pick;  // a component that counts, of either response
  void add_features(const surface::GlassSurface& surface, std::vector<Pick>& picks,
                    const std::vector<surface::PhysicalSetting>& candidates);
  Component component_of(const surface::GlassSurface& surface, const Pick& pick,
                         const std::vector<surface::PhysicalSetting>& targets,
                         Eigen::VectorXd& target_chance) const;
  double reduction(const Component& part, Eigen::Index candidate) const;
  void catch_up(Eigen::Index candidate);

  Eigen::Index targets_;
  Eigen::Index candidates_;
  Eigen::VectorXd times_;                                  // S: how often each target was given
  std::vector<std::size_t> updates_seen_;                  // n
  std::vector<std::shared_ptr<const Features>> features_;  // never changed, so copies share them
  std::vector<Component> components_;
  Eigen::VectorXd initial_;
};

}  // namespace frostcal::choice
