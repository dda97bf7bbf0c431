#include "surface/shop_observations.hpp"

#include <algorithm>
#include <map>

#include "design/grid_file.hpp"
#include "design/grid_shop.hpp"
#include "grades/grade_file.hpp"
#include "surface/physical_setting.hpp"

namespace frostcal::surface {

namespace {

// First day on which anything of the burn was graded: the nearest thing to the day it was burned.
std::map<int, std::string> burn_days(const GradedGrid& graded) {
  std::map<int, std::string> days;
  for (const grades::SwatchGrade& grade : graded.graded) {
    const design::Swatch* swatch = graded.grid.find(grade.swatch);
    if (swatch == nullptr || grade.graded_at.size() < 10) continue;
    const std::string day = grade.graded_at.substr(0, 10);
    std::string& known = days[swatch->burn];
    if (known.empty() || day < known) known = day;
  }
  return days;
}

}  // namespace

std::vector<Observation> observations_of(const shop::Shop& shop, const GradedGrid& graded) {
  const design::Grid& grid = graded.grid;
  const shop::Machine& machine = design::machine_of(shop, grid);
  const shop::Vessel& vessel = design::vessel_of(shop, grid);
  const std::map<int, std::string> days = burn_days(graded);
  std::vector<Observation> observations;
  for (const grades::SwatchGrade& grade : graded.graded) {
    const design::Swatch* swatch = grid.find(grade.swatch);
    if (swatch == nullptr || (!grade.frost && !grade.chipping)) continue;
    Observation seen;
    seen.glass = surface_name(grid.glass, grid.machine);
    seen.bottle = swatch->bottle;
    seen.burn = grid.id + '/' + std::to_string(swatch->burn);
    seen.grader = grade.grader;
    const auto day = days.find(swatch->burn);
    if (day != days.end()) seen.day = day->second;
    seen.swatch = grid.id + ' ' + swatch->id;
    seen.x_mm = swatch->x_mm;
    seen.y_mm = swatch->y_mm;
    seen.setting = physical_setting(swatch->setting, machine, vessel, swatch->x_mm);
    seen.frost = grade.frost.value_or(kNotGraded);
    seen.chipping = grade.chipping.value_or(kNotGraded);
    observations.push_back(std::move(seen));
  }
  return observations;
}

std::vector<Observation> observations_of(const shop::Shop& shop,
                                         const std::vector<grades::PieceRow>& pieces) {
  std::map<std::string, int> counted;
  std::vector<Observation> observations;
  for (auto piece = pieces.rbegin(); piece != pieces.rend(); ++piece) {
    if (!piece->frost && !piece->chipping) continue;
    if (shop.find_glass(piece->glass) == nullptr || shop.find_machine(piece->machine) == nullptr) continue;
    Observation seen;
    seen.glass = surface_name(piece->glass, piece->machine);
    if (++counted[seen.glass] > kMostPieces) continue;
    const std::string line = std::to_string(piece->line);
    seen.bottle = "piece " + line;
    seen.burn = "piece " + line;
    seen.grader = piece->by;
    seen.day = piece->logged_at.substr(0, 10);
    seen.swatch = std::string(kPieceId) + line;
    seen.piece = true;
    seen.setting = physical_setting(piece->setting, shop.machine(piece->machine));
    seen.frost = piece->frost.value_or(GradeRange(kNotGraded));
    seen.chipping = piece->chipping.value_or(GradeRange(kNotGraded));
    observations.push_back(std::move(seen));
  }
  std::reverse(observations.begin(), observations.end());
  return observations;
}

ShopEvidence read_evidence(const shop::Shop& shop, const std::string& as_of) {
  ShopEvidence evidence;
  for (const std::string& id : design::grid_ids(shop)) {
    GradedGrid graded;
    graded.grid = design::read_grid(shop, id);
    std::vector<grades::GradeRow> rows = grades::read_grades(shop, graded.grid);
    graded.early = grades::early_grades(shop, graded.grid, rows).has_value();
    if (!as_of.empty()) {
      rows.erase(
          std::remove_if(rows.begin(), rows.end(),
                         [&](const grades::GradeRow& row) { return row.graded_at.substr(0, 10) > as_of; }),
          rows.end());
    }
    graded.graded = grades::effective_grades(graded.grid, rows);
    const std::vector<Observation> seen = observations_of(shop, graded);
    evidence.observations.insert(evidence.observations.end(), seen.begin(), seen.end());
    evidence.grids.push_back(std::move(graded));
  }
  grades::LoggedPieces logged = grades::read_logged(shop, as_of);
  const std::vector<Observation> seen = observations_of(shop, logged.counted);
  evidence.observations.insert(evidence.observations.end(), seen.begin(), seen.end());
  evidence.set_aside = std::move(logged.set_aside);
  return evidence;
}

}  // namespace frostcal::surface
