// The graded swatches of one glass, gathered for fitting: distinct places on the surface and what was seen
// there.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "surface/observation.hpp"
#include "surface/surface_basis.hpp"
#include "surface/surface_prior.hpp"

namespace frostcal::surface {

enum class EffectKind { bottle, burn, grader };

/// A random effect that belongs to this glass's own rows.
struct LocalEffect {
  EffectKind kind;
  std::string name;
};

/// Rows of one response. A cell is one setting with its bottle, burn and grader; identical swatches share a
/// cell, so that a row of weight 2 and two equal rows are the same thing. Cells are sorted by content: the
/// order in which observations come makes no difference.
struct ResponseRows {
  Eigen::Matrix4Xd u;  // 4 x cells
  std::vector<std::array<int, 3>>
      effects;                // per cell: index of bottle, burn, grader in GlassRows::effects, -1 none
  std::vector<int> cell;      // per row
  std::vector<int> category;  // per row
  Eigen::VectorXd weight;     // per row
  bool empty() const { return cell.empty(); }
};

struct GlassRows {
  std::string glass;
  std::vector<LocalEffect> effects;
  ResponseRows frost;
  ResponseRows chipping;
  double weight = 0;  // graded swatches, by weight
  const ResponseRows& rows(Response response) const { return response == Response::frost ? frost : chipping; }
};

/// One entry per glass, in order of glass name. Rows with no grade, or with a weight that isn't positive, are
/// left out. Throws errors::Bug on a grade out of range.
std::vector<GlassRows> gather_rows(const std::vector<Observation>& observations,
                                   const CoordinateCentre& centre);

}  // namespace frostcal::surface
