// From a shop folder to what the surface is fitted on: every graded swatch with its physical setting.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "design/grid.hpp"
#include "grades/grade.hpp"
#include "grades/logged_pieces.hpp"
#include "shop/shop.hpp"
#include "surface/observation.hpp"

namespace frostcal::surface {

/// What the `swatch` of a customer's piece begins with; the line in results/pieces.csv follows.
inline constexpr std::string_view kPieceId = "pieces.csv line ";

/// One grid with what was seen on it.
struct GradedGrid {
  design::Grid grid;
  std::vector<grades::SwatchGrade> graded;
  bool early = false;  // some grade was given before the grid was planned (grades::early_grades)
};

struct ShopEvidence {
  std::vector<GradedGrid> grids;            // in order of number, graded or not
  std::vector<Observation> observations;    // from all grids, then from the logged pieces that count
  std::vector<grades::SetAside> set_aside;  // pieces that don't: their machine had a fault that was cured
};

/// Of the logged pieces of one glass on one machine, only the latest so many are evidence: they say little
/// more than the last hundred do, a glass may have changed since, and each costs the fit a bottle and a burn.
inline constexpr int kMostPieces = 120;

/// Reads every grid, its grades, the logged pieces and the cured faults. A piece is a swatch on a bottle and
/// in a burn of its own, at the straight wall, graded by who logged it; its `swatch` is "pieces.csv line 7".
/// `as_of` (a date, 2026-11-25) leaves out what was graded later; empty = everything. Throws UserError for a
/// fault in any file.
ShopEvidence read_evidence(const shop::Shop& shop, const std::string& as_of = "");

/// What the pieces tell: the latest kMostPieces of each glass and machine, oldest first. Pieces of glasses
/// and machines that the shop no longer has, and those without any grade, are left out.
std::vector<Observation> observations_of(const shop::Shop& shop, const std::vector<grades::PieceRow>& pieces);

/// The observations of one graded grid.
std::vector<Observation> observations_of(const shop::Shop& shop, const GradedGrid& graded);

}  // namespace frostcal::surface
