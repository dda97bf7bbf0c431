// Which settings to burn next: those that most reduce the doubt about the best setting.
#pragma once

#include <cstdint>
#include <vector>

#include "choice/progress.hpp"
#include "shop/machine.hpp"
#include "shop/setting.hpp"
#include "surface/glass_surface.hpp"

namespace frostcal::choice {

/// A grid expected to gain less than this is not worth its bottle: 1 piece in 100.
inline constexpr double kWorthwhileGain = 0.01;
/// When fewer than this share of the drawn surfaces reach the target anywhere, no setting will do.
inline constexpr double kHopelessShare = 0.05;

struct TargetedOptions {
  int swatches = 6;
  int most_dpi = 3;                 // each dpi is a burn of its own
  int draws = 48;                   // surfaces drawn from the posterior; each names its own best setting
  int most_alike = 2;               // how often one setting may stand in the grid
  double candidate_ratio = 1.18;    // neighbouring candidate powers or speeds differ by this factor, by less
                                    // where that leaves too few for the swatches
  double worth_another_look = 0.8;  // see below; 0 = work out all candidates again for each swatch
  /// Burned whatever they teach, before the others are chosen: swatches that confirm the best setting so far.
  std::vector<shop::Setting> first;
  double most_seconds = 0;  // of burning, for all swatches together; 0 = no bound
  double swatch_mm = 8;     // side of a swatch, for the time it takes
  std::uint64_t seed = 1;   // of the run of draws that is used
  Progress progress;        // told after each swatch that is chosen
};

struct TargetedGrid {
  std::vector<shop::Setting> settings;  // `first`, then in the order of choosing: the most useful first
  int confirming = 0;                   // how many of them are of `first`
  double doubt_before = 0;   // mean variance of the chance at the drawn best settings, from the surface alone
  double doubt_after = 0;    // the same, expected after the grid
  double best_now = 0;       // highest mean chance now
  double best_if_known = 0;  // mean over draws of each draw's own highest chance
  double share_reaching = 0;  // share of draws whose best setting reaches the target chance
  /// (best_if_known - best_now) * (1 - doubt_after / doubt_before): how much the chance at the chosen setting
  /// is expected to rise by this grid. The first factor is the value of perfect information; the second is
  /// the share of the doubt that the grid removes. A judgement, not a theorem.
  double expected_gain = 0;

  bool hopeless() const { return share_reaching < kHopelessShare; }
  /// Not worth its bottle, or no setting will do.
  bool stop() const { return expected_gain < kWorthwhileGain || hopeless(); }
};

/// `options.first`, as far as the time allows, then greedy, one swatch at a time. Draws name their best
/// settings x_s; each next swatch is the candidate that most reduces sum over s of Var[chance(x_s)] (delta
/// method), a swatch of Fisher information w (averaged over the posterior of its latent value by three-point
/// Gauss-Hermite quadrature) turning covariance S into S - w S g g' S / (1 + w (v + g' S g)). Settings are
/// limited to `allowed` (ranges of the machine and of the command line) and at most `most_dpi` dpi values.
/// `target` is the shop's target chance.
///
/// With a bound on the time the grid is chosen twice, by the reduction and by the reduction per second of
/// burning, and the one that leaves less doubt is returned (S. Khuller, A. Moss and J. Naor, Inf. Process.
/// Lett. 70 (1999) 39-45, for a cover under a budget; here a heuristic).
///
/// What a swatch takes off the doubt seldom grows by further swatches, so only candidates whose reduction,
/// when last worked out, was more than `worth_another_look` of the best are worked out again (after M.
/// Minoux, in: Optimization Techniques, Lecture Notes in Control and Information Sciences 7 (1978) 234-243).
/// targeted_grid_test.cpp compares with looking at all of them.
TargetedGrid plan_targeted(const surface::GlassSurface& surface, const shop::Machine& machine,
                           const shop::Machine& allowed, double target, const TargetedOptions& options);

/// 1 - doubt_after / doubt_before of a grid of these settings, however it was planned: 0..1. Of `options` the
/// draws, their seed and the candidates among which each draw's best is sought count. A grid that was aimed
/// at the same draws looks better than it is, so give another seed than it was planned with. `settings` must
/// not be empty.
double doubt_removed(const surface::GlassSurface& surface, const shop::Machine& machine,
                     const shop::Machine& allowed, const std::vector<shop::Setting>& settings,
                     const TargetedOptions& options);

}  // namespace frostcal::choice
