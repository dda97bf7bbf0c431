// A planned grid: the swatches burned together for one glass, where each lies and what it is burned with.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "shop/setting.hpp"
#include "shop/shop.hpp"

namespace frostcal::design {

enum class Role { design, repeat, confirm, reference };
std::string to_text(Role role);

/// x_mm runs along the bottle's axis from the panel's centre, positive towards the base;
/// y_mm runs round the circumference from the middle of the placing area, positive upwards on the page as the
/// bottle lies. (x_mm, y_mm) is the swatch's centre; width is along x, height along y.
struct Swatch {
  std::string id;      // a letter and a number: "B7"
  std::string bottle;  // name of the scrap bottle, shared by grids: "amber-jug-1"
  int burn = 1;        // counts from 1; one dpi per burn, and one bottle per burn
  double x_mm = 0;
  double y_mm = 0;
  double width_mm = 0;
  double height_mm = 0;
  shop::Setting setting;
  Role role = Role::design;
};

/// What shop.toml said of the machine and the bottle when the grid was planned.
struct PlannedFor {
  std::string machine;      // whose figures these are; a grid burned on another one is given that one's name
  double full_power_w = 0;  // delivered at 100 %
  double top_speed_mm_s = 0;
  double spot_mm = 0;
  double diameter_mm = 0;            // at the panel's centre
  std::optional<shop::Side> neck{};  // where the rotary held it; unknown of grids of format 2
};

struct Grid {
  std::string id;  // "0007-amber-jug"; also the folder's name under grids/
  int number = 0;
  std::string glass;
  std::string machine;
  std::string vessel;
  std::string design;  // lattice, spread, ... or targeted
  std::uint64_t seed = 0;
  std::string tool_version;
  std::string planned_at;                   // 2026-11-25T11:14:05Z
  std::optional<PlannedFor> planned_for{};  // unknown of grids of format 1
  std::vector<Swatch> swatches;  // in the order in which the eye meets them: bottle, row (y), place (x)

  const Swatch* find(const std::string& swatch_id) const;
  int burns() const;
  std::vector<std::string> bottles() const;  // in order of first use
  /// Distinct (power, speed, passes) recipes over the whole grid, summed burn by burn: what must be typed.
  int recipes() const;
};

PlannedFor planned_for(const shop::Machine& machine, const shop::Vessel& vessel);

/// The side of the page on which the neck of the grid's bottles was: as planned or, where that is not known
/// or it was burned on another machine than planned, as that `machine` holds it now.
shop::Side neck_side(const Grid& grid, const shop::Machine& machine);

/// A machine or vessel that shop.toml describes otherwise now: "full power 60 W, now 90 W".
struct ChangedFigure {
  std::string of;  // the machine's or vessel's name
  std::string text;
};
/// Empty where the grid's figures, its machine or its vessel are not known. A rotary that was turned is no
/// change: neck_side() knows it.
std::vector<ChangedFigure> changes_since(const Grid& grid, const shop::Shop& shop);

/// A swatch of `grid` that lies where one of `other` lies, on the same bottle and machine; null when none
/// does.
const Swatch* overlapping(const Grid& grid, const Grid& other);

/// The grid's reference swatch, the first if it has several; null when it has none.
const Swatch* reference_swatch(const Grid& grid);

/// Indices into grid.swatches in the order in which they are graded: reference swatches first, so that
/// graders settle on one scale, then the others as they stand.
std::vector<std::size_t> grading_order(const Grid& grid);

}  // namespace frostcal::design
