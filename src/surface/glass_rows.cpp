#include "surface/glass_rows.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "errors/bug.hpp"

namespace frostcal::surface {
namespace {

using CellKey = std::tuple<double, double, double, double, int, std::string, std::string, std::string>;

CellKey key_of(const Observation& o) {
  return {o.setting.power_w,
          o.setting.speed_mm_s,
          o.setting.pitch_mm,
          o.setting.tone,
          o.setting.passes,
          o.bottle,
          o.burn,
          o.grader};
}

int index_of(const std::vector<LocalEffect>& effects, EffectKind kind, const std::string& name) {
  for (std::size_t i = 0; i < effects.size(); ++i) {
    if (effects[i].kind == kind && effects[i].name == name) return static_cast<int>(i);
  }
  return -1;
}

int grade_of(const Observation& o, Response response) {
  return response == Response::frost ? o.frost : o.chipping;
}

bool counts(const Observation& o) {
  return o.weight > 0 && (o.frost != kNotGraded || o.chipping != kNotGraded);
}

ResponseRows response_rows(const std::vector<const Observation*>& swatches, Response response,
                           const std::vector<LocalEffect>& effects, const CoordinateCentre& centre) {
  std::map<CellKey, std::map<int, double>> cells;
  std::map<CellKey, const Observation*> example;
  for (const Observation* o : swatches) {
    const int grade = grade_of(*o, response);
    if (grade == kNotGraded) continue;
    FROSTCAL_ASSERT(grade >= 0 && grade < categories(response), "grade out of range");
    cells[key_of(*o)][grade] += o->weight;
    example[key_of(*o)] = o;
  }
  ResponseRows rows;
  rows.u.resize(4, cells.size());
  std::vector<double> weights;
  for (const auto& [key, grades] : cells) {
    const Observation& o = *example.at(key);
    const int cell = static_cast<int>(rows.effects.size());
    rows.u.col(cell) = coordinates(o.setting, centre);
    rows.effects.push_back({index_of(effects, EffectKind::bottle, o.bottle),
                            index_of(effects, EffectKind::burn, o.burn),
                            index_of(effects, EffectKind::grader, o.grader)});
    for (const auto& [grade, weight] : grades) {
      rows.cell.push_back(cell);
      rows.category.push_back(grade);
      weights.push_back(weight);
    }
  }
  rows.weight = Eigen::Map<const Eigen::VectorXd>(weights.data(), static_cast<Eigen::Index>(weights.size()));
  return rows;
}

}  // namespace

std::vector<GlassRows> gather_rows(const std::vector<Observation>& observations,
                                   const CoordinateCentre& centre) {
  std::map<std::string, std::vector<const Observation*>> by_glass;
  for (const Observation& o : observations) {
    if (counts(o)) by_glass[o.glass].push_back(&o);
  }
  std::vector<GlassRows> glasses;
  for (const auto& [glass, swatches] : by_glass) {
    GlassRows rows;
    rows.glass = glass;
    std::set<std::string> bottles, burns, graders;
    for (const Observation* o : swatches) {
      bottles.insert(o->bottle);
      burns.insert(o->burn);
      graders.insert(o->grader);
      rows.weight += o->weight;
    }
    for (const std::string& name : bottles) rows.effects.push_back({EffectKind::bottle, name});
    for (const std::string& name : burns) rows.effects.push_back({EffectKind::burn, name});
    for (const std::string& name : graders) rows.effects.push_back({EffectKind::grader, name});
    rows.frost = response_rows(swatches, Response::frost, rows.effects, centre);
    rows.chipping = response_rows(swatches, Response::chipping, rows.effects, centre);
    glasses.push_back(std::move(rows));
  }
  return glasses;
}

}  // namespace frostcal::surface
