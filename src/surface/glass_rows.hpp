// The graded swatches of one glass, gathered for fitting: distinct places on the surface and what was seen
// there.
#pragma once

#include <Eigen/Core>
#include <array>
#include <string>
#include <vector>

#include "surface/observation.hpp"
#include "surface/surface_basis.hpp"
#include "surface/surface_prior.hpp"

namespace frostcal::surface {

/// Effects beside the surface. A bottle, burn or grader shifts the latent value; a day or the trend shifts
/// the machine's ln power, and with it the latent value by the surface's own slope there.
enum class EffectKind { bottle, burn, grader, day, trend };

struct LocalEffect {
  EffectKind kind;
  std::string name;  // graders by name, days as "bench 2026-11-25", the trend by the machine
  /// Prior by response (frost, chipping), where other glasses say something of it; sd 0: mean 0 and the sd of
  /// its kind.
  std::array<double, 2> mean{0, 0};
  std::array<double, 2> sd{0, 0};
};

/// Which of a glass's effects act on a swatch (index into GlassRows::effects, -1 none), and how many days
/// before the machine's latest graded day it was burned.
struct Occasion {
  int bottle = -1;
  int burn = -1;
  int grader = -1;
  int day = -1;
  int trend = -1;
  int days_ago = 0;
  bool piece = false;  // burned with what is believed of the trend, which it does not inform
};

/// Rows of one response. A cell is one setting with its occasion; identical swatches share a cell, so that a
/// row of weight 2 and two equal rows are the same thing. Cells are sorted by content: the order in which
/// observations come makes no difference.
struct ResponseRows {
  Eigen::Matrix4Xd u;               // 4 x cells
  std::vector<Occasion> occasions;  // per cell
  std::vector<int> cell;            // per row
  std::vector<int> lowest;          // per row: the grade, or the ends of the range in which it lies
  std::vector<int> highest;         // per row
  Eigen::VectorXd weight;           // per row
  bool empty() const { return cell.empty(); }
};

struct GlassRows {
  std::string glass;
  int latest_day = 0;  // of the machine, days since 1970; 0 when nothing is dated
  std::vector<LocalEffect> effects;
  ResponseRows frost;
  ResponseRows chipping;
  double weight = 0;  // graded swatches, by weight
  /// Change of ln power in a year, as this glass feels it, that burned_places() reckons with; the effect of
  /// kind trend is what the change has beyond that.
  double assumed_trend = 0;
  /// How probable it is that its later bottles are of another kind, and by what share power seems to have
  /// changed from its first swatch to its last, the machine's and the glass's own together.
  double other_glass = 0;
  double change = 0;
  /// A first surface of each response for the slope along ln power: weights, one choice of length scales.
  /// Empty where no effect needs it.
  std::array<Eigen::VectorXd, 2> slope_weights;
  int slope_length = 0;
  const ResponseRows& rows(Response response) const { return response == Response::frost ? frost : chipping; }
};

/// Days with at least so many swatches of a glass have an effect of their own, where there is more than one
/// such day; a trend is looked for when the swatches span so many days.
inline constexpr int kFewestOfADay = 3;
inline constexpr int kTrendSpan = 14;
/// A trend is per year.
inline constexpr double kDaysInYear = 365.25;

/// The two parts of a surface's name, "amber-jug@bench"; the machine is empty where there is no @.
std::string glass_of(const std::string& surface);
std::string machine_of(const std::string& surface);

Occasion occasion_of(const GlassRows& glass, const Observation& observation);

/// The places of the rows' cells on the surface of the latest day, 4 x cells: moved along ln power by the
/// assumed trend.
Eigen::Matrix4Xd burned_places(const GlassRows& glass, const ResponseRows& rows);

/// What each effect adds to the latent value per unit of itself, at places u (4 x n) with their occasions: n
/// x effects.
Eigen::MatrixXd local_design(const GlassRows& glass, Response response, const SurfaceBasis& basis,
                             const Eigen::Matrix4Xd& u, const std::vector<Occasion>& occasions);

/// One entry per glass, in order of glass name. Rows with no grade, or with a weight that isn't positive, are
/// left out. Throws errors::Bug on a grade out of range.
std::vector<GlassRows> gather_rows(const std::vector<Observation>& observations,
                                   const CoordinateCentre& centre);

}  // namespace frostcal::surface
