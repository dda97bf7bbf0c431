// How well two graders agree, and how well one agrees with himself: weighted kappa with an interval.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "design/grid.hpp"
#include "grades/grade.hpp"

namespace frostcal::grades {

/// Disagreement weights v_ij for k ordered grades: 0 on the diagonal, 1, |i - j| or (i - j)^2 off it.
enum class KappaWeights { identity, linear, quadratic };
Eigen::MatrixXd disagreement_weights(KappaWeights kind, int grades);

/// kappa = 1 - sum v_ij p_ij / sum v_ij p_i. p_.j (J. Cohen, Educ. Psychol. Meas. 20, 37 (1960), and Psychol.
/// Bull. 70, 213 (1968)).
struct Kappa {
  /// False: no pairs, or one of the two gave a single grade throughout, which makes kappa 0 whatever the
  /// other gave.
  bool defined = false;
  double pairs = 0;
  double kappa = 0;
  /// Large-sample standard error (J. L. Fleiss, J. Cohen and B. S. Everitt, Psychol. Bull. 72, 323 (1969),
  /// from memory).
  double standard_error = 0;
  /// Interval at the level asked for. Its centre and width are those of the table with kAddedPairs more pairs
  /// spread as chance would, so that a small table without disagreement does not claim certainty; it always
  /// holds kappa and stays within -1..1. The addition is ours; its coverage is simulated in the tests.
  double low = -1;
  double high = 1;
};

inline constexpr double kAddedPairs = 2;

/// counts: k x k, entry (i, j) = swatches that the first graded i and the second j; may be fractional.
/// weights: k x k disagreements, 0 on the diagonal, none negative. 0 < level < 1. Wrong shapes throw
/// errors::Bug.
Kappa weighted_kappa(const Eigen::MatrixXd& counts, const Eigen::MatrixXd& weights, double level = 0.90);

/// The grades of one grid.
struct GradedSwatches {
  design::Grid grid;
  std::vector<SwatchGrade> grades;
};

/// Two graders over all swatches that both graded, with quadratic weights.
struct GraderAgreement {
  std::string first;  // alphabetically before `second`
  std::string second;
  Kappa frost;
  Kappa chipping;
  double frost_difference = 0;  // mean of second less first, in grades; 0 without pairs
  double chipping_difference = 0;
  double frost_scatter = 0;  // variance of the difference in frost about its mean; 0 with fewer than 2 pairs
  std::vector<std::string> apart;  // "grid swatch" where frost or chipping differ by 2 or more
};
/// One entry per pair with a swatch in common, by name.
std::vector<GraderAgreement> agreement_between_graders(const std::vector<GradedSwatches>& grids);

/// One grader over repeats: swatches of one grid, bottle and burn with the same setting. Repeats are taken
/// two by two, each swatch once, and count half in either order. The burn's own scatter counts against the
/// grader here, so this is a lower bound.
struct GraderConsistency {
  std::string grader;
  Kappa frost;
  Kappa chipping;
};
std::vector<GraderConsistency> consistency_over_repeats(const std::vector<GradedSwatches>& grids);

}  // namespace frostcal::grades
